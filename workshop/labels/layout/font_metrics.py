"""How wide words of the label typeface are, to guess the paper they take before laying them out."""

import re
from collections.abc import Callable
from functools import cache, lru_cache
from unicodedata import combining, normalize

from fontTools.ttLib import TTFont

from workshop.core.paper.typefaces import FACES

MOST_KEPT = 4096
REGULAR, BOLD = 400, 600
UNKNOWN = 0.72
# Where a line may end: after a space, a hyphen or a slash.
_PIECES = re.compile(r"[^ \t/-]*(?:[/-]+|[ \t]+|$)")


@cache
def _widths(weight: int) -> dict[str, float]:
    """The width of each letter in one weight of the typeface, in parts of its size."""
    face = next(one for one in FACES if one.family == "Book Sans" and one.weight == weight)
    with TTFont(face.path, lazy=True) as font:
        unit, widths = font["head"].unitsPerEm, font["hmtx"].metrics
        return {chr(at): widths[name][0] / unit for at, name in font.getBestCmap().items()}


@lru_cache(MOST_KEPT)
def width_em(text: str, *, is_bold: bool = False) -> float:
    """The width of `text` on one line, in parts of the size of type."""
    widths = _widths(BOLD if is_bold else REGULAR)
    # A letter with an accent is as wide as without; what is not known counts as more than most.
    plain = (letter for letter in normalize("NFD", text) if not combining(letter))
    return sum(widths.get(letter, UNKNOWN) for letter in plain)


def lines_needed(
    text: str, room_em: Callable[[int], float], *, is_bold: bool = False, line: int = 0
) -> int:
    """The number of the line that follows `text`, which begins on `line`.

    `room_em` gives the room on each line; a word that is longer is broken anywhere.
    """
    for paragraph in text.splitlines():
        used = 0.0
        for piece in _PIECES.findall(paragraph):
            bare = width_em(piece.rstrip(" "), is_bold=is_bold)
            if used and used + bare > room_em(line):
                line, used = line + 1, 0.0
            while not used and bare > max(room_em(line), 1):
                bare, line = bare - max(room_em(line), 1), line + 1
            used += bare + width_em(" ", is_bold=is_bold) * piece.endswith(" ")
        line += 1
    return line
