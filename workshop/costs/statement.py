"""A period as it is written down: every figure in whole cents, and every sum of them right.

Each figure is rounded once. What rounding leaves over stands on a line of its own, so that the
closing value is that of the stock and opens the next period.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from workshop.costs.period import CLASSES, IN_WORK, MOVES, Account
from workshop.costs.shown import exact_amount

OPENING, ROUNDING, CLOSING = "opening", "rounding", "closing"
# What one class gives another gets: their sum is nothing.
WITHIN = ("made", "used")


@dataclass(frozen=True)
class Line:
    """One line of the sum, by class of stock."""

    key: str
    word: str
    cells: Mapping[str, Decimal]

    @property
    def total(self) -> Decimal:
        return sum(self.cells.values(), Decimal(0))


def statement_of(account: Account, currency: str) -> list[Line]:
    """Opening, movements, what rounding left, and the closing value as the sum of them all.

    Movements that are nothing everywhere are left out.
    """

    def cents(values: Mapping[str, Fraction]) -> dict[str, Decimal]:
        return {one: exact_amount(values[one], currency) for one in CLASSES}

    opening, closing = cents(account.opening), cents(account.closing)
    lines = [Line(OPENING, "There was", opening)]
    for name, word in MOVES.items():
        cells = cents(account.moves[name])
        if name in WITHIN:
            cells[IN_WORK] -= sum(cells.values(), Decimal(0))
        lines.append(Line(name, word, cells))
    written = {one: sum((line.cells[one] for line in lines), Decimal(0)) for one in CLASSES}
    left = {one: closing[one] - written[one] for one in CLASSES}
    lines.append(Line(ROUNDING, "rounding", left))
    said = [line for line in lines if line.key == OPENING or any(line.cells.values())]
    return [*said, Line(CLOSING, "There is", closing)]
