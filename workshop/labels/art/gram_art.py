"""Art drawn from the net contents: one petal, stem or grain a gram, every fifth and tenth longer.

A function of grams, kind and three colours; lengths are millimetres, angles degrees from above.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import cos, pi, radians, sin

# Half of what is left open below for the net contents.
OPEN_HALF = 53.0
# Beyond so many the pieces would be finer than a printer's dots; then one stands for more grams.
MOST_PIECES = 240
TENTH, FIFTH, OTHER = 1.0, 0.86, 0.72
LEAN = 17


@dataclass(frozen=True)
class Look:
    """Kind and colours: `dark` is every tenth piece, `middle` every fifth, `light` the others."""

    kind: str = "petal"
    dark: str = "#b5500f"
    middle: str = "#dd7a1c"
    light: str = "#f2a33a"
    ground: str = "#ffffff"


# By turns for products without art of their own.
PALETTES = (
    ("#b5500f", "#dd7a1c", "#f2a33a"),
    ("#1f4450", "#43606b", "#6f929a"),
    ("#3f2a63", "#6a4f9a", "#9d86c4"),
    ("#2f5130", "#557a4d", "#8aa87a"),
    ("#7a2440", "#a8506c", "#d08aa0"),
    ("#6b4a1e", "#94703c", "#c2a26c"),
)


def pieces(grams: int) -> Iterator[tuple[int, float]]:
    """The number of each piece from 1 on, and its length as a part of the longest."""
    shown = max(1, grams)
    while shown > MOST_PIECES:
        shown = shown // 10
    for number in range(1, shown + 1):
        yield number, TENTH if number % 10 == 0 else FIFTH if number % 5 == 0 else OTHER


def count(grams: int) -> int:
    """How many pieces are drawn for so many grams."""
    return sum(1 for _ in pieces(grams))


def ring(
    grams: int, look: Look, inner_mm: float, outer_mm: float, *, shut_half: float = 0.0
) -> str:
    """SVG of a ring around the point 0, 0, open below, and above by twice `shut_half` degrees."""
    number_of, span = count(grams), 360 - 2 * OPEN_HALF - 2 * shut_half
    width = 2 * pi * outer_mm * span / 360 / number_of
    drawn = []
    for number, part in pieces(grams):
        turn = -180 + OPEN_HALF + span * (number - 0.5) / number_of
        turn += 2 * shut_half if turn > -shut_half else 0
        x, y = inner_mm * sin(radians(turn)), -inner_mm * cos(radians(turn))
        long = (outer_mm - inner_mm) * part
        drawn.append(_piece(look, number, x, y, turn, long, min(width, long)))
    return "".join(drawn)


def row(
    grams: int, look: Look, left_mm: float, right_mm: float, foot_mm: float, high_mm: float
) -> str:
    """SVG of a row that stands on a line, from its left to its right end."""
    step = (right_mm - left_mm) / count(grams)
    return "".join(
        _piece(
            look, number, left_mm + step * (number - 0.5), foot_mm,
            LEAN * (-1) ** number if look.kind == "grain" else 0,
            high_mm * part, min(step, high_mm * part),
        )
        for number, part in pieces(grams)
    )  # fmt: skip


def _piece(
    look: Look, number: int, x: float, y: float, turn: float, long: float, wide: float
) -> str:
    colour = look.dark if number % 10 == 0 else look.middle if number % 5 == 0 else look.light
    at = f'transform="translate({x:.3f} {y:.3f}) rotate({turn:.2f})"'
    if look.kind == "stem":
        head = f'<circle cy="{-long:.3f}" r="{wide * 0.42:.3f}"/>' if number % 5 == 0 else ""
        thin = wide * 0.3
        bar = f'<rect x="{-thin / 2:.3f}" y="{-long:.3f}" width="{thin:.3f}" height="{long:.3f}"/>'
        return f'<g {at} fill="{colour}">{bar}{head}</g>'
    half, belly = wide * 0.55, wide * 0.62
    path = (
        f"M0 0C{-half:.3f} {-long * 0.35:.3f} {-belly:.3f} {-long * 0.98:.3f} 0 {-long:.3f}"
        f"C{belly:.3f} {-long * 0.98:.3f} {half:.3f} {-long * 0.35:.3f} 0 0Z"
    )
    return f'<path {at} fill="{colour}" d="{path}"/>'
