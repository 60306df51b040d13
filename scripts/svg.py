"""Boxes, words and arrows as SVG text: what the pictures of the papers are drawn with."""

from collections.abc import Iterable
from dataclasses import dataclass
from xml.sax.saxutils import escape

SIZE, LINE, HEAD, PAD = 12, 17, 24, 8
INK, QUIET, LINES = "#26221c", "#6b6459", "#8d8578"
FRAME = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {0} {1}" width="{0}" height="{1}"'
    f' font-family="sans-serif" font-size="{SIZE}" fill="{INK}">\n'
    '<defs><marker id="tip" viewBox="0 0 8 8" refX="7" refY="4" markerWidth="8" markerHeight="8"'
    f' orient="auto"><path d="M0 0L8 4L0 8z" fill="{LINES}"/></marker></defs>\n'
    '<rect width="100%" height="100%" fill="#fffdf8"/>\n'
)


@dataclass(frozen=True)
class Box:
    """A heading and lines beneath it, at a place."""

    x: int
    y: int
    width: int
    heading: str
    lines: tuple[str, ...] = ()
    fill: str = "#f1ead9"

    @property
    def height(self) -> int:
        return HEAD + (len(self.lines) * LINE + PAD if self.lines else 0)

    @property
    def right(self) -> int:
        return self.x + self.width

    @property
    def middle(self) -> int:
        return self.x + self.width // 2

    @property
    def bottom(self) -> int:
        return self.y + self.height

    def line_y(self, place: int) -> int:
        """The middle of a line; that of the heading is line -1."""
        return self.y + HEAD // 2 if place < 0 else self.y + HEAD + place * LINE + LINE // 2 + 2

    def drawn(self) -> str:
        frame = (
            f'<rect x="{self.x}" y="{self.y}" width="{self.width}" height="{self.height}"'
            f' rx="4" fill="#ffffff" stroke="{LINES}"/>\n'
            f'<rect x="{self.x}" y="{self.y}" width="{self.width}" height="{HEAD}"'
            f' rx="4" fill="{self.fill}" stroke="{LINES}"/>\n'
        )
        heading = words(self.x + PAD, self.line_y(-1), self.heading, bold=True)
        rest = (words(self.x + PAD, self.line_y(n), text) for n, text in enumerate(self.lines))
        return frame + heading + "".join(rest)


def words(
    x: int, y: int, text: str, *, bold: bool = False, anchor: str = "start", fill: str = ""
) -> str:
    weight = ' font-weight="bold"' if bold else ""
    colour = f' fill="{fill}"' if fill else ""
    place = f'x="{x}" y="{y + SIZE // 3}" text-anchor="{anchor}"'
    return f"<text {place}{weight}{colour}>{escape(text)}</text>\n"


def dot(x: int, y: int) -> str:
    return f'<circle cx="{x}" cy="{y}" r="4" fill="{INK}"/>\n'


def rule(x1: int, y1: int, x2: int, y2: int) -> str:
    return f'<path d="M{x1} {y1}L{x2} {y2}" stroke="#e4ddcd" fill="none"/>\n'


def arrow(*points: tuple[int, int], curved: bool = False) -> str:
    """A line through points to the last of them, where it has a tip."""
    (x, y), *rest = points
    bend = "C" if curved else "L"
    way = " ".join(f"{a} {b}" for a, b in rest)
    path = f"M{x} {y}{bend}{way}"
    return f'<path d="{path}" stroke="{LINES}" fill="none" marker-end="url(#tip)"/>\n'


def svg(width: int, height: int, parts: Iterable[str]) -> str:
    return FRAME.format(width, height) + "".join(parts) + "</svg>\n"
