"""What a count says of the book: within its tolerance, to be counted again, off; and accuracy."""

from collections.abc import Iterable, Sequence
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from typing import NamedTuple


class Counted(NamedTuple):
    """What the book said at the moment of a count, and what was counted, in the lot's unit."""

    book: Decimal
    counted: Decimal

    @property
    def difference(self) -> Decimal:
        """What there is more than the book says, below zero where it is less."""
        return self.counted - self.book


class Verdict(StrEnum):
    """How a lot of a round stands."""

    TO_COUNT = "to count"
    AGAIN = "count again"
    RIGHT = "right"
    OFF = "off"


def is_within(one: Counted, tolerance_percent: Decimal) -> bool:
    """Say whether a count is within so many percent of what the book said, the limit included.

    Where the book said nothing, only nothing is right. Units: one unit for both.
    Error: none. Source: supplychainmetric.com, inventory accuracy: tolerances in percent of the
    book quantity.

    >>> is_within(Counted(Decimal(1000), Decimal(990)), Decimal(1))
    True
    >>> is_within(Counted(Decimal(1000), Decimal(989)), Decimal(1))
    False
    >>> is_within(Counted(Decimal(0), Decimal(12)), Decimal(5))
    False
    """
    room = Fraction(abs(one.book)) * Fraction(tolerance_percent) / 100
    return abs(Fraction(one.difference)) <= room


def verdict(counts: Sequence[Counted], tolerance_percent: Decimal) -> Verdict:
    """Return how a lot stands after its counts, the first one first.

    A count out of tolerance is believed when the next one finds the same difference, give or take
    the tolerance; until then it is counted again. A last count within tolerance ends it: then the
    one before was miscounted, not the book.

    Source: a blind recount of what is out of tolerance is common practice (GAO-02-447G names blind
    counts and recounts); that two counts which agree are enough is our rule, no source.

    >>> thousand = Decimal(1000)
    >>> verdict([Counted(thousand, Decimal(900))], Decimal(1))
    <Verdict.AGAIN: 'count again'>
    >>> verdict([Counted(thousand, Decimal(900)), Counted(thousand, Decimal(905))], Decimal(1))
    <Verdict.OFF: 'off'>
    """
    if not counts:
        return Verdict.TO_COUNT
    last = counts[-1]
    if is_within(last, tolerance_percent):
        return Verdict.RIGHT
    if len(counts) > 1:
        apart = Counted(last.book, last.book + last.difference - counts[-2].difference)
        if is_within(apart, tolerance_percent):
            return Verdict.OFF
    return Verdict.AGAIN


def record_accuracy(verdicts: Iterable[Verdict]) -> Fraction | None:
    """Return how many of the records that were counted were right, in percent; none where none was.

    A record that is still to be counted again was not right so far. Surplus and shortage never
    make up for one another. Units: percent. Error: none. Source: supplychainmetric.com, record
    accuracy: records within tolerance of records counted.

    >>> record_accuracy([Verdict.RIGHT, Verdict.OFF, Verdict.TO_COUNT])
    Fraction(50, 1)
    """
    counted = [one for one in verdicts if one is not Verdict.TO_COUNT]
    if not counted:
        return None
    return Fraction(100 * sum(one is Verdict.RIGHT for one in counted), len(counted))
