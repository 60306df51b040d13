"""Letters of the machine's fonts, laid out once by the hundred and kept to write papers with."""

import io
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import groupby
from typing import Any

import pikepdf
from weasyprint import CSS, HTML

from workshop.core.paper.css_layout import NOTHING_OUTSIDE, fonts
from workshop.core.paper.mass_letters import Glyph, glyphs_of
from workshop.core.paper.typeset import CannotSet

AT_ONCE = 128
KEPT_WORDS = 20_000
# Scripts whose letters stand alone, from left to right, and signs that papers use.
STANDS_ALONE = re.compile(
    r"[ -~\u00a0-\u00ac\u00ae-\u02ff\u0370-\u058f\u1e00-\u200a\u2010-\u2027\u202f-\u205e"
    r"\u2070-\u20cf\u2100-\u2612]*"
)
FACES = {
    "plain": "font-family: 'Book Sans', 'DejaVu Sans', sans-serif",
    "bold": "font-family: 'Book Sans', 'DejaVu Sans', sans-serif; font-weight: 600",
    "serif": "font-family: 'Book Serif', 'DejaVu Serif', serif; font-weight: 600",
    "mono": "font-family: 'DejaVu Sans Mono', monospace",
}
PAGE = "@page { size: 400mm 400mm; margin: 5mm } p { font-size: 9.5pt; word-spacing: 2mm; %s }"
SPACES = "\u00a0\u2007"  # as wide as a space


@dataclass(frozen=True)
class Alphabet:
    """A PDF with one face of some letters, and how each is called in it."""

    content: bytes
    glyphs: dict[str, Glyph]

    @property
    def fonts(self) -> Iterator[tuple[str, Any]]:
        with pikepdf.open(io.BytesIO(self.content)) as pdf:
            yield from pdf.pages[0].Resources.Font.items()


@cache
def alphabet(face: str, number: int) -> Alphabet:
    """The letters of one face from that many times 128 on."""
    wanted = (chr(code) for code in range(AT_ONCE * number, AT_ONCE * (number + 1)))
    letters = [one for one in wanted if STANDS_ALONE.fullmatch(one) and _is_seen(one)]
    text = "".join(f"&#{ord(one)}; " for one in letters)
    page = HTML(string=f"<p>{text}", url_fetcher=NOTHING_OUTSIDE)
    style = CSS(string=PAGE % FACES[face], url_fetcher=NOTHING_OUTSIDE)
    content = page.write_pdf(stylesheets=[style], font_config=fonts())
    with pikepdf.open(io.BytesIO(content)) as pdf:
        named = pdf.pages[0].Resources.Font.items()
        return Alphabet(
            content, dict(pair for name, font in named for pair in glyphs_of(name, font))
        )


def _is_seen(letter: str) -> bool:
    return unicodedata.category(letter)[0] not in "CM"


@lru_cache(maxsize=KEPT_WORDS)
def glyph(face: str, letter: str) -> Glyph:
    """Its font is named by the face, the alphabet and the name in that."""
    if letter in SPACES:
        letter = " "
    if not STANDS_ALONE.fullmatch(letter):
        raise CannotSet(letter)
    number = ord(letter) // AT_ONCE
    found = alphabet(face, number).glyphs.get(letter)
    if found is None:
        raise CannotSet(letter)
    return found._replace(font=f"/{face}-{number}-{found.font[1:]}")


@lru_cache(maxsize=KEPT_WORDS)
def width_of(face: str, text: str) -> float:
    """In parts of the size."""
    return sum(glyph(face, letter).width for letter in text) / 1000


def written(face: str, text: str, size_pt: float) -> tuple[str, set[str]]:
    """The drawing of a text from where the pen is, and the fonts that it takes."""
    runs = [
        (font, "".join(one.code for one in run))
        for font, run in groupby((glyph(face, one) for one in text), key=lambda one: one.font)
    ]
    drawn = " ".join(f"{font} {size_pt:g} Tf <{codes}> Tj" for font, codes in runs)
    return drawn, {font for font, _ in runs}
