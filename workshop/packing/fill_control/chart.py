"""The control chart of a run as a picture: each fill in pouring order, with its limits."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor

from workshop.packing.fill_control.figures import FillCheck
from workshop.packing.fill_control.published_systems import shown_g
from workshop.rules.quantities.units import show_mass

WIDTH, HEIGHT = 720, 280
LEFT, RIGHT, TOP, BOTTOM = 58, 196, 14, 34
LINE_HEIGHT = 17
MOST_TICKS = 6
STEPS = (Decimal(1), Decimal(2), Decimal(5))
DASHES = {"label": "", "average": "9 4", "limit": "2 4", "short": "9 3 2 3"}


@dataclass(frozen=True)
class ChartLine:
    """A level across the chart, with its name at the right; `name_y` keeps names apart."""

    dash: str
    name: str
    y: str
    name_y: str
    elbow: str


@dataclass(frozen=True)
class Point:
    number: int
    said: str
    x: str
    y: str
    is_out: bool


@dataclass(frozen=True)
class Tick:
    text: str
    at: str


@dataclass(frozen=True)
class Chart:
    """Everything that the drawing template needs, already in the drawing's own units."""

    lines: list[ChartLine]
    points: list[Point]
    ticks: list[Tick]
    numbers: list[Tick]
    path: str
    words: str
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = WIDTH - RIGHT
    foot: int = HEIGHT - BOTTOM
    name_x: int = WIDTH - RIGHT + 26


def chart_of(check: FillCheck) -> Chart | None:
    """The chart of a run, or None while fewer than two fills are known."""
    if check.limits_g is None:
        return None
    levels = _levels(check)
    low, high = _reach([*check.contents_g, *(grams for _, _, grams in levels)])
    ups = [_up(grams, low, high) for grams in check.contents_g]
    acrosses = [_across(place, len(ups)) for place in range(len(ups))]
    out = set(check.drifting)
    points = [
        Point(place + 1, f"{place + 1}: {show_mass(grams)}", _px(x), _px(y), place in out)
        for place, (grams, x, y) in enumerate(zip(check.contents_g, acrosses, ups, strict=True))
    ]
    return Chart(
        lines=_lines(levels, low, high),
        points=points,
        ticks=[
            Tick(f"{grams:f}", _px(_up(Fraction(grams), low, high))) for grams in _ticks(low, high)
        ],
        numbers=[Tick(str(one.number), one.x) for one in points if _is_numbered(one, len(points))],
        path=" ".join(f"{one.x},{one.y}" for one in points),
        words=_words(check),
    )


def _levels(check: FillCheck) -> list[tuple[str, str, Fraction]]:
    """The kind, name and grams of each line, top to bottom."""
    assert check.limits_g is not None  # noqa: S101 -- the caller looked
    middle, low, high = check.limits_g
    levels = [
        ("limit", f"upper limit {shown_g(high)}", high),
        ("average", f"average {shown_g(middle)}", middle),
        ("limit", f"lower limit {shown_g(low)}", low),
    ]
    promised, shortage = check.binding.promised_g, check.binding.shortage_g
    if promised is not None and shortage is not None:
        levels.append(("label", f"label {shown_g(promised)}", promised))
        floor_g = promised - shortage
        # Drawn only where a pack comes near it: it would press the rest flat.
        if min(check.contents_g) < promised - shortage / 2:
            levels.append(("short", f"too short {shown_g(floor_g)}", floor_g))
    return sorted(levels, key=lambda level: -level[2])


def _reach(values: list[Fraction]) -> tuple[Fraction, Fraction]:
    low, high = min(values), max(values)
    margin = max((high - low) / 12, Fraction(1, 100))
    return low - margin, high + margin


def _up(grams: Fraction, low: Fraction, high: Fraction) -> Fraction:
    return HEIGHT - BOTTOM - (grams - low) * (HEIGHT - TOP - BOTTOM) / (high - low)


def _across(place: int, count: int) -> Fraction:
    room = WIDTH - RIGHT - LEFT - 24
    return LEFT + 12 + Fraction(room * place, max(1, count - 1))


def _lines(
    levels: list[tuple[str, str, Fraction]], low: Fraction, high: Fraction
) -> list[ChartLine]:
    lines: list[ChartLine] = []
    free = Fraction(TOP)
    # From the bottom up, no name may be pushed out of the picture.
    room = Fraction(HEIGHT - BOTTOM - LINE_HEIGHT * (len(levels) - 1))
    for kind, name, grams in levels:
        y = _up(grams, low, high)
        name_y = min(max(y, free), room)
        free, room = name_y + LINE_HEIGHT, room + LINE_HEIGHT
        elbow = f"{WIDTH - RIGHT},{_px(y)} {WIDTH - RIGHT + 22},{_px(name_y)}"
        lines.append(ChartLine(DASHES[kind], name, _px(y), _px(name_y), elbow))
    return lines


def _ticks(low: Fraction, high: Fraction) -> list[Decimal]:
    """Round numbers between the two ends, six at most."""
    exponent = -3
    while True:
        for step in STEPS:
            every = step.scaleb(exponent)
            first, last = ceil(low / Fraction(every)), floor(high / Fraction(every))
            if last - first < MOST_TICKS:
                return [every * number for number in range(first, last + 1)]
        exponent += 1


def _is_numbered(point: Point, count: int) -> bool:
    """Every point of a short chart, every fifth of a long one, and those out of control."""
    return count <= 24 or point.is_out or point.number % 5 == 0 or point.number == 1


def _px(value: Fraction) -> str:
    tenths = round(value * 10)
    return f"{tenths // 10}.{tenths % 10}"


def _words(check: FillCheck) -> str:
    mean, out = check.mean_g, len(check.drifting)
    said = f"{len(check.contents_g)} fills in pouring order"
    average = f", on average {shown_g(mean)}" if mean is not None else ""
    return f"{said}{average}; {out or 'none'} out of control."
