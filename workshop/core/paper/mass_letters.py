"""Paper of which most is laid out once: blocks put on many pages, with words written beside them.

To lay out a page takes some ten times as long as to put blocks that are laid out already on it. A
template has one `class="block"` with an id for each block, and a last `id="characters"` that
holds every character to be written: so the PDF brings along the letters of their fonts.
"""

import io
import re
import zlib
from collections import ChainMap
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import groupby
from typing import Any, NamedTuple

import pikepdf
from django.template.loader import render_to_string
from weasyprint import CSS, HTML

from workshop.core.paper.css_layout import NOTHING_OUTSIDE, breakable, fonts, style_sheet

PT_PER_PX, PT_PER_MM = 0.75, 72 / 25.4
BLOCK_HEIGHT_PT = 250 * PT_PER_MM
# Scripts whose letters stand alone, from left to right, without marks that join them.
STANDS_ALONE = re.compile(
    r"[ -~\u00a0-\u02ff\u0370-\u058f\u1e00-\u200a\u2010-\u2027\u202f-\u20cf]*"
)
# As css/paper.css has it: the line height in parts of the size, and where letters stand in it.
SIZE_PT, LINE, BASELINE = 9.5, 1.4, 1.0555
FOOT_PT, FOOT = 8, 0.42
ALWAYS = "page of 0123456789"
OWN = (
    "@page { size: 180mm 250mm; margin: 0; @bottom-left { content: none }"
    " @bottom-center { content: none } @bottom-right { content: none } }"
    ".block, #characters { break-before: page } .block:first-child { break-before: auto }"
)


class Glyph(NamedTuple):
    font: str
    code: str
    width: float  # in thousandths of the size


@dataclass(frozen=True)
class Block:
    """One block as a form, how high it is, and where in it words are to be written."""

    form: str
    height_pt: float
    places: Mapping[str, tuple[float, float, float]]


@dataclass(frozen=True)
class Words:
    """The letters of the fonts in a PDF, to write with."""

    glyphs: Mapping[str, Glyph]

    def can_write(self, text: str) -> bool:
        return bool(STANDS_ALONE.fullmatch(text)) and all(letter in self.glyphs for letter in text)

    def width_pt(self, text: str, size_pt: float = SIZE_PT) -> float:
        return sum(self.glyphs[letter].width for letter in text) * size_pt / 1000

    def lines(self, text: str, width_pt: float) -> Iterator[str]:
        """The text broken between words, and inside a word that is wider than a line."""
        line = ""
        for word in text.split():
            longer = f"{line} {word}".strip()
            if self.width_pt(longer) <= width_pt:
                line = longer
                continue
            if line:
                yield line
            *full, line = self._pieces(word, width_pt)
            yield from full
        if line:
            yield line

    def _pieces(self, word: str, width_pt: float) -> Iterator[str]:
        piece = ""
        for letter in word:
            if piece and self.width_pt(piece + letter) > width_pt:
                yield piece
                piece = ""
            piece += letter
        yield piece

    def written(self, text: str, x_pt: float, y_pt: float, size_pt: float) -> str:
        """The drawing of a line of text from that point of its base line."""
        runs = groupby((self.glyphs[letter] for letter in text), key=lambda glyph: glyph.font)
        shown = " ".join(
            f"{font} {size_pt} Tf <{''.join(glyph.code for glyph in run)}> Tj" for font, run in runs
        )
        return f"BT {x_pt:.2f} {y_pt:.2f} Td {shown} ET"


@dataclass
class LaidOut:
    """A template laid out once: its blocks by name, and its fonts."""

    content: bytes
    pages: list[Mapping[str, Any]]

    @cached_property
    def blocks(self) -> dict[str, list[Block]]:
        """Each block in as many parts as it took pages, which is one but for the oddest words."""
        found: dict[str, list[Block]] = {}
        name = ""
        for number, anchors in enumerate(self.pages[:-1]):
            name = next((key for key in anchors if key.startswith("block-")), name)
            height = anchors[name][3] * PT_PER_PX if name in anchors else BLOCK_HEIGHT_PT
            places = {
                key: (place[0] * PT_PER_PX, place[1] * PT_PER_PX, place[2] * PT_PER_PX)
                for key, place in anchors.items()
            }
            part = Block(f"/B{number}", height, places)
            found.setdefault(name.removeprefix("block-"), []).append(part)
        return found

    @cached_property
    def words(self) -> Words:
        with pikepdf.open(io.BytesIO(self.content)) as pdf:
            last = pdf.pages[-1]
            # Pages share their fonts: those of headings are named here too, and not written with.
            drawn = pikepdf.parse_content_stream(last, "Tf")
            used = dict.fromkeys(str(one.operands[0]) for one in drawn)
            found = {name: dict(glyphs_of(name, last.Resources.Font[name])) for name in used}
            # What the first font has is of it; the others stand in for what it lacks.
            return Words(dict(ChainMap(*found.values())))


@dataclass
class Sheets:
    """Pages filled from the top, block below block; a new page begins where one has no room."""

    of: LaidOut
    width_pt: float = 210 * PT_PER_MM
    height_pt: float = 297 * PT_PER_MM
    left_pt: float = 15 * PT_PER_MM
    top_pt: float = 16 * PT_PER_MM
    bottom_pt: float = 18 * PT_PER_MM
    pages: list[list[str]] = field(default_factory=list)
    down_pt: float = 0

    def turn(self) -> None:
        self.pages.append([])
        self.down_pt = self.top_pt

    def make_room(self, height_pt: float) -> None:
        """Begin a new page unless so much has room on this one."""
        over = self.down_pt + height_pt > self.height_pt - self.bottom_pt
        if over and self.down_pt > self.top_pt:
            self.turn()

    def put(self, name: str, /, **words: str) -> None:
        """Put a block, and write words at its places of those names."""
        for block in self.of.blocks[name]:
            self.make_room(block.height_pt)
            up = self.height_pt - self.down_pt
            at = f"1 0 0 1 {self.left_pt:.2f} {up - BLOCK_HEIGHT_PT:.2f} cm"
            self.pages[-1].append(f"q {at} {block.form} Do Q")
            for key, text in words.items():
                self._fill(block, key, text, up)
            self.down_pt += block.height_pt

    def _fill(self, block: Block, key: str, text: str, up: float) -> None:
        """Write at the place "at-key" from its left, or at "end-key" up to its right, if need be
        smaller."""
        for prefix in ("at", "end"):
            place = block.places.get(f"{prefix}-{key}")
            if place is None:
                continue
            left, top, right = place
            wide = self.of.words.width_pt(text)
            size = min(SIZE_PT, SIZE_PT * (right - left) / wide) if wide else SIZE_PT
            x = left if prefix == "at" else right - wide * size / SIZE_PT
            self.write_line(text, self.left_pt + x, up - top - SIZE_PT * BASELINE, size)

    def write(self, lines: Iterable[str]) -> None:
        """Lines of text one below the other."""
        for line in lines:
            self.make_room(SIZE_PT * LINE)
            base = self.height_pt - self.down_pt - SIZE_PT * BASELINE
            self.write_line(line, self.left_pt, base)
            self.down_pt += SIZE_PT * LINE

    def write_line(
        self, text: str, x_pt: float, y_pt: float, size_pt: float = SIZE_PT, page: int = -1
    ) -> None:
        self.pages[page].append(self.of.words.written(text, x_pt, y_pt, size_pt))

    def foot(self, first: int, code: str, about: str) -> None:
        """Below the pages from `first` on, which are one paper: its code, words, page x of y."""
        y, many = self.bottom_pt * FOOT, len(self.pages) - first
        for number in range(many):
            said = f"page {number + 1} of {many}"
            right = self.width_pt - self.left_pt - self.of.words.width_pt(said, FOOT_PT)
            middle = (self.width_pt - self.of.words.width_pt(about, FOOT_PT)) / 2
            for text, x in ((code, self.left_pt), (about, middle), (said, right)):
                self.write_line(text, x, y, FOOT_PT, first + number)

    def pdf(self, title: str) -> bytes:
        with pikepdf.open(io.BytesIO(self.of.content)) as blocks, pikepdf.new() as pdf:
            resources = pdf.make_indirect(self._resources(blocks, pdf))
            for drawn in self.pages:
                page = pdf.add_blank_page(page_size=(self.width_pt, self.height_pt))
                page.obj.Resources = resources
                packed = zlib.compress("\n".join(drawn).encode())
                page.obj.Contents = pdf.make_stream(packed, Filter=pikepdf.Name.FlateDecode)
            pdf.docinfo["/Title"] = title
            pdf.Root.Lang = "en"
            written = io.BytesIO()
            pdf.save(written, object_stream_mode=pikepdf.ObjectStreamMode.generate)
            return written.getvalue()

    def _resources(self, blocks: pikepdf.Pdf, pdf: pikepdf.Pdf) -> pikepdf.Dictionary:
        *pages, last = blocks.pages
        forms = {
            f"/B{number}": pdf.copy_foreign(page.as_form_xobject())
            for number, page in enumerate(pages)
        }
        named = {name: pdf.copy_foreign(font) for name, font in last.Resources.Font.items()}
        return pikepdf.Dictionary(XObject=pikepdf.Dictionary(forms), Font=pikepdf.Dictionary(named))


def lay_out(template: str, context: dict[str, Any], *, sheet: str = "css/paper.css") -> LaidOut:
    html = breakable(render_to_string(template, context))
    styles = [style_sheet(sheet), CSS(string=OWN, url_fetcher=NOTHING_OUTSIDE)]
    page = HTML(string=html, url_fetcher=NOTHING_OUTSIDE)
    document = page.render(stylesheets=styles, font_config=fonts())
    return LaidOut(document.write_pdf(), [page.anchors for page in document.pages])


def characters_of(texts: Iterable[str]) -> str:
    """Every character of the texts once, apart, so that none is joined with its neighbour."""
    return " ".join(sorted(set().union(*texts, ALWAYS) - {" "}))


def glyphs_of(name: str, font: Any) -> Iterator[tuple[str, Glyph]]:
    """The letters of one font, by its own table of characters and widths."""
    widths = _widths(list(font.DescendantFonts[0].W))
    table = font.ToUnicode.read_bytes().decode()
    for part in re.findall(r"beginbfchar(.*?)endbfchar", table, re.DOTALL):
        for code, text in re.findall(r"<([0-9a-fA-F]{4})> *<([0-9a-fA-F]+)>", part):
            letters = bytes.fromhex(text).decode("utf-16-be")
            if len(letters) == 1 and int(code, 16) in widths:
                yield letters, Glyph(name, code, widths[int(code, 16)])


def _widths(written: list[Any]) -> dict[int, float]:
    """As PDF writes them: a first code and the widths from it on, or a first, a last and one."""
    widths: dict[int, float] = {}
    while written:
        first = int(written.pop(0))
        following = written.pop(0)
        if isinstance(following, pikepdf.Array):
            widths |= {first + step: float(width) for step, width in enumerate(following)}
        else:
            width = float(written.pop(0))
            widths |= dict.fromkeys(range(first, int(following) + 1), width)
    return widths
