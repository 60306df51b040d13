"""A round label: how wide its lines may be, and where its net contents stand."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import sqrt

from workshop.labels.layout.font_metrics import lines_needed, width_em
from workshop.labels.layout.text_blocks import TextBlock

# Between the last letter and the edge, which no cutter hits exactly; common practice, no source.
INSET_MM = Decimal("1.5")
# The text is held off by pairs of empty boxes so high: the lower, the closer to a circle.
STEP_MM = 2
# Letters may be a little wider than the table of widths says.
EASE = 1.02


@dataclass(frozen=True)
class Circle:
    """The part of a round label that may be printed on, in millimetres."""

    diameter_mm: Decimal
    inset_mm: Decimal = INSET_MM

    @property
    def centre(self) -> float:
        return float(self.diameter_mm) / 2

    @property
    def radius(self) -> float:
        return float(self.diameter_mm / 2 - self.inset_mm)

    def half_width(self, top: float, bottom: float) -> float:
        """Half the room that a line between two heights has, counted from the upper edge."""
        off = max(abs(top - self.centre), abs(bottom - self.centre))
        return sqrt(self.radius**2 - off**2) if off < self.radius else 0.0

    def lowest_bottom(self, width: float) -> float:
        """How low the lower edge of something so wide may stand, from the lower edge."""
        half = width / 2
        return self.centre - sqrt(self.radius**2 - half**2) if half < self.radius else self.centre

    def holds(self, x: float, y: float, width: float, height: float) -> bool:
        """Whether a box, from its upper left corner, is inside the circle as a whole."""
        corners = [(x + dx, y + dy) for dx in (0, width) for dy in (0, height)]
        reach = (self.radius + float(INSET_MM) / 2) ** 2
        return all((a - self.centre) ** 2 + (b - self.centre) ** 2 <= reach for a, b in corners)

    def indents(self, start: float, stop: float) -> list[float]:
        """How wide the empty box on each side is, step by step downwards from `start`."""
        steps = range(max(0, int((stop - start) / STEP_MM)))
        tops = [start + step * STEP_MM for step in steps]
        return [self.centre - self.half_width(top, top + STEP_MM) for top in tops]


@dataclass(frozen=True)
class Foot:
    """The net contents at the foot of a circle, on one line or two."""

    lines: tuple[str, ...]
    bottom_mm: float
    height_mm: float
    width_mm: float

    @property
    def top_mm(self) -> float:
        """Its upper edge, from the lower edge of the label."""
        return self.bottom_mm + self.height_mm


def foot_of(circle: Circle, net_contents: str, type_mm: float) -> Foot:
    """The net contents as low as they can stand, broken before the bracket if that is lower."""
    choices: list[tuple[str, ...]] = [(net_contents,), parts_of(net_contents)]
    return min((_foot(circle, lines, type_mm) for lines in choices), key=lambda foot: foot.top_mm)


def parts_of(net_contents: str) -> tuple[str, ...]:
    """The parts that each stay on one line: before the bracket, and from it on."""
    first, bracket, rest = net_contents.partition(" (")
    return (first, f"({rest}") if bracket else (net_contents,)


def _foot(circle: Circle, lines: Sequence[str], type_mm: float) -> Foot:
    widths = [width_em(line, is_bold=True) * type_mm * EASE for line in lines]
    lowest = [
        circle.lowest_bottom(width) - below * type_mm for below, width in enumerate(widths[::-1])
    ]
    return Foot(tuple(lines), max(lowest), len(lines) * type_mm, max(widths))


def foot_of_rows(circle: Circle, rows: Sequence[tuple[float, float]]) -> Foot:
    """Rows of codes and words, each a width and a height from the top one down, low in a circle."""
    bottom = below = 0.0
    for width, height in reversed(rows):
        bottom = max(bottom, circle.lowest_bottom(width) - below)
        below += height
    return Foot((), bottom, below, max(width for width, _ in rows))


def end_in_circle(circle: Circle, texts: Sequence[TextBlock], start: float) -> float:
    """Where these texts end when the first line begins at `start`, each line as wide as it can."""
    y = start
    for one in texts:

        def room(line: int, one: TextBlock = one, top: float = y) -> float:
            upper = top + line * one.line_mm
            # A line is held off by every shim that it touches.
            return (
                2
                * circle.half_width(upper - STEP_MM, upper + one.line_mm + STEP_MM)
                / (one.size_mm * one.wide)
            )

        y += lines_needed(one.text, room, is_bold=one.is_bold) * one.line_mm + one.after_mm
    return y


def best_start(circle: Circle, texts: Sequence[TextBlock], stop: float) -> float:
    """Where the first line begins so that as much is free above the text as below it."""
    starts = [circle.centre - circle.radius + step / 2 for step in range(2 * int(circle.radius))]
    room = [
        (abs((start - starts[0]) - (stop - end)), start)
        for start in starts
        if (end := end_in_circle(circle, texts, start)) <= stop
    ]
    return min(room)[1] if room else starts[0]
