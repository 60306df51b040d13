"""What the pages of a round show: differences in words and in money, and to whom."""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from workshop.core.formatting import number, with_unit
from workshop.core.models import Role, User
from workshop.costs import figures as money
from workshop.costs.services import workshop_currency
from workshop.costs.values.lot_values import values_of
from workshop.counts.models import CountRound
from workshop.counts.rounds import Line
from workshop.rules.money.amounts import rounded


@dataclass(frozen=True)
class Difference:
    """One lot that differs from the book, ready to be shown to whoever may see it."""

    line: Line
    words: str
    percent: str
    value: str


def differences(lines: Iterable[Line]) -> list[Difference]:
    """With what each comes to in money, where the book knows a currency."""
    lines = list(lines)
    currency = workshop_currency()
    values = values_of([line.row.lot_id for line in lines]) if currency and lines else None
    found = []
    for line in lines:
        unit = line.row.lot.item.unit
        sign = "+" if line.difference > 0 else ""
        value = ""
        if values and currency:
            cost = values.of(line.row.lot_id)
            worth = cost.amount * Fraction(line.difference)
            value = f"{money.at_least(cost)}{money.amount(worth, currency)} {currency}"
        found.append(
            Difference(line, sign + with_unit(line.difference, unit), _percent(line), value)
        )
    return found


def _percent(line: Line) -> str:
    if line.percent is None:
        return "–"
    return f"{number(rounded(line.percent, 1), least=1)} %"


def share(percent: Fraction | None) -> str:
    """An accuracy, to a tenth of a percent."""
    return "–" if percent is None else f"{number(rounded(percent, 1), most=1)} %"


def sees_the_book(found: CountRound) -> bool:
    """Whether somebody who counts is shown what the book says; afterwards everybody is."""
    return found.is_over or not found.is_blind


def sees_differences(found: CountRound, person: User) -> bool:
    """An owner sees what was counted beside the book, but for lots still to be counted."""
    return sees_the_book(found) or person.role == Role.OWNER
