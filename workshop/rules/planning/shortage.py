"""On which day a product falls short, how much of it is needed, and batches of what size."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from workshop.rules.quantities.units import ceil_to, floor_to

WEEK = 7


@dataclass(frozen=True)
class Outlook:
    """A product from today on: stock, the least that should stay, orders, expected weeks.

    `orders` are pairs of days from today (what is overdue is due today) and units; `weeks` are
    units expected in each seven days from today on.
    """

    stock: Fraction
    least: Fraction
    orders: Sequence[tuple[int, Fraction]]
    weeks: Sequence[Fraction]

    def wanted_by(self, day: int) -> Fraction:
        """What goes out until the end of that day, today being day 0.

        Orders use up what is expected of their week: the larger of the two counts.
        """
        whole, rest = divmod(day + 1, WEEK)
        total = sum((self._week(number, WEEK) for number in range(whole)), Fraction())
        return total + (self._week(whole, rest) if rest else 0)

    def _week(self, number: int, days: int) -> Fraction:
        first = number * WEEK
        ordered = sum(
            (units for day, units in self.orders if first <= max(day, 0) < first + days),
            Fraction(),
        )
        expected = self.weeks[number] if number < len(self.weeks) else Fraction()
        return max(ordered, expected * days / WEEK)


def short_on(outlook: Outlook, days: int) -> int | None:
    """Return the first day on which less than the least is left; None within so many days.

    Units: days from today. Error: none. Source: stock less use, common practice, no source.

    >>> short_on(Outlook(Fraction(10), Fraction(3), [], [Fraction(7)] * 4), 28)
    7
    >>> short_on(Outlook(Fraction(10), Fraction(0), [(2, Fraction(11))], []), 28)
    2
    """
    for day in range(days):
        if outlook.stock - outlook.wanted_by(day) < outlook.least:
            return day
    return None


def needed(outlook: Outlook, days: int) -> Fraction:
    """Return what must be made so that the least is left after so many days.

    Units, error, source: as `short_on`.

    >>> needed(Outlook(Fraction(10), Fraction(3), [], [Fraction(7)] * 4), 28)
    Fraction(21, 1)
    """
    wanted = outlook.wanted_by(days - 1) if days else Fraction()
    return max(outlook.least + wanted - outlook.stock, Fraction())


def batch_sizes(
    need_g: Fraction, *, smallest_g: Decimal, largest_g: Decimal, step_g: Decimal
) -> list[Decimal]:
    """Return the batches that make what is needed: as few as can be, and alike.

    None is smaller than the scale can weigh well or larger than the kettle holds; of what is
    needed nothing is left out, so the last gram may make all of them a step larger.

    Units: g. Error: rounded up to the step. Source: common practice, no source.

    >>> grams = batch_sizes(Fraction(5000), smallest_g=Decimal(400), largest_g=Decimal(2500),
    ...     step_g=Decimal("0.5"))
    >>> [str(one) for one in grams]
    ['2500.0', '2500.0']
    """
    most = floor_to(largest_g, step_g)
    least = ceil_to(smallest_g, step_g)
    if need_g <= 0 or most < least or most <= 0:
        return []
    number = -(-need_g // Fraction(most))
    each = min(max(ceil_to(need_g / number, step_g), least), most)
    return [each] * int(number)
