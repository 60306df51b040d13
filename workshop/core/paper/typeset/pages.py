"""Pieces put on pages, and the pages written as a PDF that can also be heard."""

import io
import zlib
from collections import defaultdict
from collections.abc import Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any

import pikepdf

from workshop.core.paper.typeset.chunks import PT_PER_MM, Bar, Chunk, Code, Drawing, Mark, Rule, Tag
from workshop.core.paper.typeset.glyphs import alphabet, width_of, written
from workshop.core.paper.typeset.lines import Line, Manner, lines_of, text_of
from workshop.core.paper.typeset.pictures import HIGH_PT, Picture

GREY = 0.267
# The line of a rule, the width of its ticks, and how deep each tenth, fifth and single one hangs.
RULE_PT, TICK_PT = 0.3 * PT_PER_MM, 0.15 * PT_PER_MM
TICKS_PT = (2.6 * PT_PER_MM, 1.9 * PT_PER_MM, 1.3 * PT_PER_MM)
STRIKE, STRIKE_PT = 0.28, 0.8  # how far above the base line, in parts of the size
FOOT_PT, FOOT_UP_PT, FOOT_GAP_PT = 8, 7.6 * PT_PER_MM, 4 * PT_PER_MM
DOWN_AGAIN_PT = FOOT_PT * 1.2


@dataclass(frozen=True)
class Paper:
    """The size of the page and its margins."""

    width_pt: float = 210 * PT_PER_MM
    height_pt: float = 297 * PT_PER_MM
    side_pt: float = 15 * PT_PER_MM
    top_pt: float = 16 * PT_PER_MM
    bottom_pt: float = 18 * PT_PER_MM

    @property
    def inner_pt(self) -> tuple[float, float]:
        wide = self.width_pt - 2 * self.side_pt
        return wide, self.height_pt - self.top_pt - self.bottom_pt


@dataclass
class Sheets:
    paper: Paper
    pictures: Sequence[Picture]
    pages: list[list[str]] = field(default_factory=list)
    owners: list[list[Tag]] = field(default_factory=list)  # of what is read on each page, in order
    fonts: set[str] = field(default_factory=set)

    def page(self, pieces: list[tuple[float, Chunk]]) -> None:
        self.pages.append([])
        self.owners.append([])
        for down, chunk in pieces:
            for mark in chunk.marks:
                self._put(mark, self.paper.height_pt - self.paper.top_pt - down)

    def feet(self, code: str, about: str) -> None:
        """On every page its code, words and page x of y."""
        many, manner = len(self.pages), Manner(size_pt=FOOT_PT)
        for number, page in enumerate(self.pages, start=1):
            said = f"page {number} of {many}"
            left, right = (width_of("plain", text) * FOOT_PT for text in (code, said))
            between = self.paper.inner_pt[0] - 2 * (max(left, right) + FOOT_GAP_PT)
            middle = list(lines_of(text_of([about], manner), between))
            at_right = lines_of(text_of([said], manner), self.paper.inner_pt[0])
            at_left = lines_of(text_of([code], manner), self.paper.inner_pt[0])
            page.append("/Artifact <</Type /Pagination>> BDC")
            for place, lines in ((0.0, at_left), (0.5, middle), (1.0, at_right)):
                page.extend(self._foot(list(lines), place))
            page.append("EMC")

    def _foot(self, lines: list[Line], place: float) -> Iterator[str]:
        first = FOOT_UP_PT + (len(lines) - 1) * DOWN_AGAIN_PT / 2
        for number, line in enumerate(lines):
            x = self.paper.side_pt + (self.paper.inner_pt[0] - line.width_pt) * place
            yield self._words(line, x, first - number * DOWN_AGAIN_PT)

    def _put(self, mark: Mark, up: float) -> None:
        x, y = self.paper.side_pt + mark.x_pt, up - mark.y_pt
        if isinstance(mark, Bar):
            drawn, tag = self._bar(mark, x, y), None
        elif isinstance(mark, Rule):
            drawn, tag = " ".join(self._rule(mark, x, y)), None
        elif isinstance(mark, Code):
            drawn, tag = " ".join(self._code(mark, x, y)), mark.tag
        elif isinstance(mark, Drawing):
            drawn, tag = self._drawing(mark, x, y), mark.tag
        else:
            drawn, tag = self._words(mark.line, x, y), mark.tag
        self.pages[-1].append(f"{self._begun(tag)}\n{drawn}\nEMC")

    def _begun(self, tag: Tag | None) -> str:
        if tag is None:
            return "/Artifact BMC"
        owners = self.owners[-1]
        tag.spots.append((len(self.pages) - 1, len(owners)))
        owners.append(tag)
        return f"/{tag.kind} <</MCID {len(owners) - 1}>> BDC"

    def _bar(self, bar: Bar, x: float, y: float) -> str:
        place = f"{x:.2f} {y - bar.height_pt:.2f} {bar.width_pt:.2f} {bar.height_pt:.2f}"
        return f"{bar.shade:g} g {place} re f 0 g"

    def _code(self, code: Code, x: float, y: float) -> Iterator[str]:
        bottom = y - code.height_pt
        for at, run in code.dark:
            left, wide = x + at * code.width_pt, run * code.width_pt
            yield f"{left:.3f} {bottom:.2f} {wide:.3f} {code.height_pt:.2f} re"
        yield "f"

    def _rule(self, rule: Rule, x: float, y: float) -> Iterator[str]:
        """As css/paper.css has it: true to the millimetre, so that a reader can measure it."""
        yield f"{x:.2f} {y - RULE_PT:.2f} {rule.width_pt:.2f} {RULE_PT:.2f} re"
        for tick in range(int(rule.width_pt / PT_PER_MM + 0.001) + 1):
            deep = TICKS_PT[0] if tick % 10 == 0 else TICKS_PT[1] if tick % 5 == 0 else TICKS_PT[2]
            yield f"{x + tick * PT_PER_MM:.2f} {y - deep:.2f} {TICK_PT:.2f} {deep:.2f} re"
        yield "f"

    def _drawing(self, drawing: Drawing, x: float, y: float) -> str:
        picture = self.pictures[drawing.number]
        right, up = x - picture.left_pt, y - (HIGH_PT - picture.top_pt)
        return f"q 1 0 0 1 {right:.2f} {up:.2f} cm /P{drawing.number} Do Q"

    def _words(self, line: Line, x: float, y: float) -> str:
        """Each run of one manner; a line through what was struck."""
        drawn, strikes = [f"BT {x:.2f} {y:.2f} Td"], []
        is_grey = False
        for manner, pieces in groupby(line.pieces, key=lambda piece: piece.manner):
            text = "".join(piece.text for piece in pieces)
            shown, fonts = written(manner.face, text, manner.size_pt)
            self.fonts |= fonts
            if manner.is_grey != is_grey:
                is_grey = manner.is_grey
                drawn.append(f"{GREY if is_grey else 0:g} g")
            drawn.append(shown)
            wide = width_of(manner.face, text) * manner.size_pt
            if manner.is_struck:
                base = y + STRIKE * manner.size_pt
                strikes.append(f"{x:.2f} {base:.2f} {wide:.2f} {STRIKE_PT} re f")
            x += wide
        return " ".join([*drawn, "0 g ET" if is_grey else "ET", *strikes])

    def pdf(self, title: str, document: Tag, pictures: bytes) -> bytes:
        with pikepdf.new() as pdf, ExitStack() as open_too:
            resources = pdf.make_indirect(self._resources(pdf, pictures, open_too))
            size = (self.paper.width_pt, self.paper.height_pt)
            for number, drawn in enumerate(self.pages):
                page = pdf.add_blank_page(page_size=size).obj
                packed = zlib.compress("\n".join(drawn).encode())
                page.Contents = pdf.make_stream(packed, Filter=pikepdf.Name.FlateDecode)
                page.Resources, page.StructParents = resources, number
                page.Tabs = pikepdf.Name.S
            _outline(pdf, document)
            _Tree(pdf, self.owners).write(document)
            pdf.docinfo["/Title"] = title
            pdf.Root.Lang = "en"
            pdf.Root.ViewerPreferences = pikepdf.Dictionary(DisplayDocTitle=True)
            out = io.BytesIO()
            pdf.save(out, object_stream_mode=pikepdf.ObjectStreamMode.generate)
            return out.getvalue()

    def _resources(self, pdf: pikepdf.Pdf, pictures: bytes, open_too: ExitStack) -> Any:
        wanted: dict[tuple[str, int], dict[str, str]] = defaultdict(dict)
        for name in self.fonts:
            face, number, own = name.removeprefix("/").split("-", 2)
            wanted[face, int(number)][own] = name
        named: dict[str, Any] = {}
        for place, names in wanted.items():
            letters = open_too.enter_context(pikepdf.open(io.BytesIO(alphabet(*place).content)))
            found = letters.pages[0].Resources.Font
            named |= {name: pdf.copy_foreign(found[f"/{own}"]) for own, name in names.items()}
        forms = {}
        if pictures:
            drawn = open_too.enter_context(pikepdf.open(io.BytesIO(pictures)))
            for count, page in enumerate(drawn.pages):
                forms[f"/P{count}"] = pdf.copy_foreign(page.as_form_xobject())
        return pikepdf.Dictionary(Font=pikepdf.Dictionary(named), XObject=pikepdf.Dictionary(forms))


@dataclass
class _Tree:
    """What is on the pages as a tree, and from each page back to it. Source: ISO 32000-1, 14.7."""

    pdf: pikepdf.Pdf
    owners: list[list[Tag]]
    known: dict[Tag, Any] = field(default_factory=dict)

    def write(self, document: Tag) -> None:
        root = self.pdf.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name.StructTreeRoot))
        root.K = self._element(document, root)
        numbers: list[Any] = []
        for page, owners in enumerate(self.owners):
            numbers += [page, pikepdf.Array([self.known[tag] for tag in owners])]
        root.ParentTree = pikepdf.Dictionary(Nums=pikepdf.Array(numbers))
        root.ParentTreeNextKey = len(self.owners)
        self.pdf.Root.StructTreeRoot = root
        self.pdf.Root.MarkInfo = pikepdf.Dictionary(Marked=True)

    def _element(self, tag: Tag, parent: Any) -> Any:
        made = self.pdf.make_indirect(
            pikepdf.Dictionary(
                Type=pikepdf.Name.StructElem, S=pikepdf.Name(f"/{tag.kind}"), P=parent
            )
        )
        self.known[tag] = made
        if tag.spots:
            made.Pg = self.pdf.pages[tag.spots[0][0]].obj
        kids = [self._spot(tag, *spot) for spot in tag.spots]
        made.K = pikepdf.Array([*kids, *(self._element(one, made) for one in tag.inside)])
        if tag.kind == "Figure":
            made.Alt = tag.title
        if tag.kind in ("TH", "TD"):
            made.A = _of_cell(tag)
        return made

    def _spot(self, tag: Tag, page: int, number: int) -> Any:
        if page == tag.spots[0][0]:
            return number
        return pikepdf.Dictionary(Type=pikepdf.Name.MCR, Pg=self.pdf.pages[page].obj, MCID=number)


def _of_cell(tag: Tag) -> Any:
    about = pikepdf.Dictionary(O=pikepdf.Name.Table)
    if tag.kind == "TH":
        about.Scope = pikepdf.Name.Column
    if tag.columns > 1:
        about.ColSpan = tag.columns
    return about


def _outline(pdf: pikepdf.Pdf, document: Tag) -> None:
    """The headings, those of parts below that of the whole."""
    with pdf.open_outline() as outline:
        for tag in document.inside:
            if tag.kind in ("H1", "H2") and tag.spots:
                item = pikepdf.OutlineItem(tag.title, tag.spots[0][0])
                under = outline.root[-1].children if tag.kind == "H2" and outline.root else None
                (outline.root if under is None else under).append(item)
