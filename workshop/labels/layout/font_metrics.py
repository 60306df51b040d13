"""How wide words of DejaVu Sans are, to guess how much paper they take before laying them out."""

import re
from collections.abc import Callable
from functools import lru_cache
from unicodedata import combining, normalize

# Widths in hundredths of the size of type, measured from the font and rounded.
_REGULAR = {
    20: "\u202f", 27: "'", 28: "ijl", 29: "IJ", 32: " \xa0,.·’", 34: "/:;\\|", 35: "f", 36: "-",
    39: "()[]t", 40: "!", 41: "r", 46: '"', 50: "*_`–", 52: "sz“”", 53: "?", 55: "c", 56: "L",
    58: "Fk", 59: "vxy", 60: "P", 61: "TYao", 62: "e", 63: "ESbdghnpqu", 64: "$0123456789{}",
    66: "K", 68: "AV", 69: "BRXZ", 70: "C", 73: "U", 75: "HN", 77: "DG", 78: "&", 79: "OQ",
    82: "w", 84: "#+<=>^~", 85: "\u212e", 86: "M", 95: "%", 97: "m", 99: "W", 100: "@—",
}  # fmt: skip
_BOLD = {
    20: "\u202f", 31: "'", 34: "ijl", 35: " \xa0", 37: "/IJ\\|", 38: ",.·’", 40: ":;", 42: "-",
    44: "f", 46: "!()[]", 48: "t", 49: "r", 50: "_`–", 52: '"*', 58: "?z", 59: "c", 60: "s",
    64: "L", 65: "vxy", 66: "“”", 67: "ak", 68: "EFTe", 69: "o", 70: "$0123456789",
    71: "hnu{}", 72: "SYbdgpq", 73: "CPZ", 76: "B", 77: "AKRVX", 81: "U", 82: "G", 83: "D",
    84: "#+<=>HN^~", 85: "OQ\u212e", 87: "&", 92: "w", 100: "%@M—", 104: "m", 110: "W",
}  # fmt: skip
_WIDTHS = [
    {letter: width for width, letters in table.items() for letter in letters}
    for table in (_REGULAR, _BOLD)
]
_UNKNOWN = (65, 72)
MOST_KEPT = 4096
# Where a line may end: after a space, a hyphen or a slash.
_PIECES = re.compile(r"[^ \t/-]*(?:[/-]+|[ \t]+|$)")


@lru_cache(MOST_KEPT)
def width_em(text: str, *, is_bold: bool = False) -> float:
    """The width of `text` on one line, in parts of the size of type."""
    # A letter with an accent is as wide as without; what is not known counts as more than most.
    plain = (letter for letter in normalize("NFD", text) if not combining(letter))
    return sum(_WIDTHS[is_bold].get(letter, _UNKNOWN[is_bold]) for letter in plain) / 100


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
