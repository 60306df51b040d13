"""Classes A, B and C by a year's use times cost: how often each is counted, how near it must be."""

from collections.abc import Hashable, Mapping
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple, TypeVar

from workshop.rules.quantities.units import Exact

Key = TypeVar("Key", bound=Hashable)
A_UP_TO = 80  # percent of the value of all, from the top
B_UP_TO = 95
YEAR_DAYS = 365


class CountRule(NamedTuple):
    """How often a year a class is counted, and how far a count may be off, in percent."""

    times_a_year: int
    tolerance_percent: Decimal

    @property
    def days(self) -> int:
        return YEAR_DAYS // self.times_a_year


# supplychainmetric.com (inventory accuracy): counts a year, and tolerances of the book quantity.
COUNT_RULES = {
    "A": CountRule(4, Decimal(1)),
    "B": CountRule(2, Decimal(3)),
    "C": CountRule(1, Decimal(5)),
}


def abc_classes(values: Mapping[Key, Exact]) -> dict[Key, str]:
    """Return the class of each thing by the value that was used of it in a year.

    The largest first, a thing is of class A as long as it and all before it come to at most 80 %
    of everything, of class B up to 95 %, else of class C; so the one that crosses a limit falls
    into the lower class. The largest of all is of class A however large it is (our rule: else one
    thing that is nearly everything would be hardly ever counted). What was not used is of class C.

    Units: one currency. Error: none. Source: the limits and their side, the table at
    homeworksource.com 1006462; the 80/15/5 split, supplychainmetric.com.

    >>> abc_classes({"oil": 70, "wax": 20, "scent": 10, "twine": 0})
    {'oil': 'A', 'wax': 'B', 'scent': 'C', 'twine': 'C'}
    """
    exact = {key: max(Fraction(value), Fraction()) for key, value in values.items()}
    whole = sum(exact.values(), Fraction())
    ranked = sorted(exact, key=lambda key: -exact[key])
    found: dict[Key, str] = {}
    reached = Fraction()
    for place, key in enumerate(ranked):
        reached += exact[key]
        if not exact[key]:
            found[key] = "C"
        elif place == 0 or reached * 100 <= whole * A_UP_TO:
            found[key] = "A"
        else:
            found[key] = "B" if reached * 100 <= whole * B_UP_TO else "C"
    return {key: found[key] for key in values}


def count_due_on(last: date, abc_class: str) -> date:
    """Return the day on which something last counted then is to be counted again.

    >>> count_due_on(date(2026, 1, 1), "A"), count_due_on(date(2026, 1, 1), "C")
    (datetime.date(2026, 4, 2), datetime.date(2027, 1, 1))
    """
    return last + timedelta(days=COUNT_RULES[abc_class].days)
