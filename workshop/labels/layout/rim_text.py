"""Text along the rim of a round label, one letter a turn, so that text stays text."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from html import escape
from math import cos, degrees, radians, sin
from typing import Literal

from workshop.core.paper.barcodes import as_source
from workshop.labels.content.label import Label
from workshop.labels.layout.font_metrics import width_em
from workshop.labels.layout.round_label import INSET_MM

# The heights of capitals and of what hangs below the line, in parts of the size of type.
ASCENT, DESCENT = 0.73, 0.24
# Between the rim and what the circle inside it holds, in millimetres; common practice, no source.
WITHIN_MM = 0.7
# How far round a line may run, above and below; common practice, no source.
MOST_ABOVE, MOST_BELOW = 230.0, 110.0
BETWEEN = " · "
FAMILY = "Book Sans, DejaVu Sans, sans-serif"


@dataclass(frozen=True)
class Rim:
    """A line on the upper half of the rim, and perhaps one below it, both read from outside."""

    above: str
    below: str
    diameter_mm: Decimal
    type_mm: Decimal

    @property
    def taken_mm(self) -> Decimal:
        """What the rim takes of the radius, from the trim on."""
        high = self.type_mm * Decimal(str(ASCENT + DESCENT)) + Decimal(str(WITHIN_MM))
        return (INSET_MM + high).quantize(Decimal("0.01"))

    @property
    def _outer(self) -> float:
        return float(self.diameter_mm / 2 - INSET_MM)

    def _line(self, where: Literal["above", "below"]) -> float:
        """The radius of the line that letters stand on."""
        size = float(self.type_mm)
        return self._outer - size * (ASCENT if where == "above" else DESCENT)

    def _angle(self, text: str, where: Literal["above", "below"]) -> float:
        return degrees(width_em(text) * float(self.type_mm) / self._line(where))

    @property
    def fits(self) -> bool:
        above = self._angle(self.above, "above")
        return above <= MOST_ABOVE and self._angle(self.below, "below") <= MOST_BELOW

    @property
    def source(self) -> str:
        """The whole rim as the address of a drawing of the label's size."""
        letters = [*self._letters(self.above, "above"), *self._letters(self.below, "below")]
        side, middle = self.diameter_mm, float(self.diameter_mm) / 2
        return as_source(
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{side}mm" height="{side}mm" '
            f'viewBox="{-middle} {-middle} {side} {side}" font-family="{FAMILY}" '
            f'font-size="{self.type_mm}">{"".join(letters)}</svg>'
        )

    def _letters(self, text: str, where: Literal["above", "below"]) -> Sequence[str]:
        """Each letter where its left edge stands, turned as the rim is there."""
        line, turn, drawn = self._line(where), -self._angle(text, where) / 2, []
        for letter in text:
            step = degrees(width_em(letter) * float(self.type_mm) / line)
            # A letter is a chord: it lies along the rim in its middle.
            at = turn + step / 2
            turn += step
            if not letter.isspace():
                drawn.append(_letter(letter, line, at, -1 if where == "above" else 1, self.type_mm))
        return drawn


def _letter(letter: str, line: float, turn: float, side: int, type_mm: Decimal) -> str:
    x, y = line * sin(radians(turn)), side * line * cos(radians(turn))
    back = width_em(letter) * float(type_mm) / 2
    lean = turn if side < 0 else -turn
    return (
        f'<text transform="translate({x:.3f} {y:.3f}) rotate({lean:.3f}) translate({-back:.3f} 0)">'
        f"{escape(letter)}</text>"
    )


def rim_of(
    diameter_mm: Decimal, type_mm: Decimal, above: str, choices: Sequence[str]
) -> Rim | None:
    """The rim with the first of these lines below that fits; None where the line above does not."""
    rims = (Rim(above, below, diameter_mm, type_mm) for below in (*choices, ""))
    return next((rim for rim in rims if above and rim.fits), None)


def rim_for(label: Label, diameter_mm: Decimal, type_mm: Decimal) -> Rim | None:
    """The maker above; below it the certifier, who must stand there, or the responsible person.

    Source: 7 CFR 205.303(b)(2), the certifier below the maker.
    """
    said = label.certifier_line or BETWEEN.join(label.responsible_lines)
    return rim_of(diameter_mm, type_mm, ", ".join(label.maker_lines), [said])


def beside_rim(label: Label, rim: Rim | None) -> tuple[str, ...]:
    """What of responsible person, maker and certifier does not stand on the rim."""
    maker = ", ".join(label.maker_lines)
    if rim is None:
        lines: Sequence[str] = (*label.responsible_lines, maker, label.certifier_line)
    else:
        lines = (BETWEEN.join(label.responsible_lines), label.certifier_line)
    on_rim = (rim.above, rim.below) if rim else ()
    return tuple(line for line in lines if line and line not in on_rim)
