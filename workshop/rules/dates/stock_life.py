"""How long stock lasts at the present pace, and what of it will be left when it expires."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True)
class InStock:
    """One lot: how much there is of it, and the days until it expires; none for a lot that does
    not."""

    quantity: Fraction
    days_left: int | None


@dataclass(frozen=True)
class StockLife:
    """In how many days a lot is used up or expires, none where nothing is used; what is left over
    then; and in how many days it would be used up if it did not expire."""

    used_up_days: Fraction | None
    left_over: Fraction
    would_last_days: Fraction | None = None


def stock_lives(lots: Sequence[InStock], a_day: Fraction) -> list[StockLife]:
    """How long each lot of one item lasts, when the first to expire is used first.

    Each lot is begun when the one before it is used up or has expired, and nothing is used of a lot
    after its last day.

    Units: quantities in the item's unit; `a_day` is what is used of the item in a day, in the same.
    Error: none, exact fractions.
    Source: common practice, no source: what was used lately goes on being used.

    Raises: nothing; a pace of nought or less uses nothing.

    >>> lots = [InStock(Fraction(300), 20), InStock(Fraction(300), 90)]
    >>> one, two = stock_lives(lots, Fraction(10))
    >>> (one.used_up_days, one.left_over)  # 200 of it are used before it expires
    (Fraction(20, 1), Fraction(100, 1))
    >>> (two.used_up_days, two.left_over)  # begun on day 20
    (Fraction(50, 1), Fraction(0, 1))
    """
    return list(_lives(lots, a_day))


def _lives(lots: Sequence[InStock], a_day: Fraction) -> Iterator[StockLife]:
    begun = Fraction(0)
    for lot in lots:
        there = max(lot.quantity, Fraction(0))
        if a_day <= 0:
            yield StockLife(None, there if lot.days_left is not None else Fraction(0))
            continue
        end = begun + there / a_day
        if lot.days_left is not None and end > lot.days_left:
            last = max(begun, Fraction(max(lot.days_left, 0)))
            yield StockLife(last, there - (last - begun) * a_day, end)
            end = last
        else:
            yield StockLife(end, Fraction(0), end)
        begun = end
