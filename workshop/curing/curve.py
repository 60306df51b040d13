"""The loss curve of a lot as a picture: what was left at each weighing, and the forecast."""

from dataclasses import dataclass
from fractions import Fraction

from workshop.core.formatting import day, percent
from workshop.curing.release_readiness import Cure

WIDTH, HEIGHT = 240, 72
LEFT, RIGHT, TOP, FOOT = 6, 48, 8, 64


@dataclass(frozen=True)
class Dot:
    x: str
    y: str
    said: str


@dataclass(frozen=True)
class Curve:
    """All that the drawing template needs, in the drawing's own units."""

    dots: list[Dot]
    path: str
    onward: str
    end: Dot | None
    words: str
    low: str
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = WIDTH - RIGHT
    foot: int = FOOT
    name_x: int = WIDTH - RIGHT + 5


def curve_of(cure: Cure) -> Curve | None:
    """The curve from the pour on, or None before anything was weighed."""
    if not cure.points:
        return None
    first, found = cure.lot.made_on, cure.forecast
    days = [(one.day - first).days for one in cure.points]
    left = [one.left for one in cure.points]
    end_day = (cure.ready - first).days if cure.ready else days[-1]
    whole = max(*days, end_day, 1)
    least = min([*left, found if found is not None else Fraction(1), Fraction(9, 10)])
    span = 1 - least or Fraction(1, 10)

    def dot(after: int, share: Fraction, said: str) -> Dot:
        x = LEFT + Fraction(after * (WIDTH - LEFT - RIGHT), whole)
        y = TOP + (1 - share) * (FOOT - TOP) / span
        return Dot(_px(x), _px(y), said)

    dots = [
        dot(after, share, f"{day(one.day)}: {percent(share, 0)} of what was poured")
        for after, share, one in zip(days, left, cure.points, strict=True)
    ]
    is_ahead = found is not None and end_day > days[-1]
    end = dot(end_day, found, f"forecast {percent(found, 0)}") if is_ahead and found else None
    return Curve(
        dots,
        " ".join(f"{one.x},{one.y}" for one in dots),
        f"{dots[-1].x},{dots[-1].y} {end.x},{end.y}" if end else "",
        end,
        _words(cure, end),
        percent(found if end and found else left[-1], 0),
    )


def _words(cure: Cure, end: Dot | None) -> str:
    said = f"Lot {cure.lot}: {cure.lost_text} lost by {day(cure.points[-1].day)}"
    return f"{said}; {end.said} on {day(cure.ready)}" if end and cure.ready else said


def _px(value: Fraction) -> str:
    tenths = round(value * 10)
    return f"{tenths // 10}.{tenths % 10}"
