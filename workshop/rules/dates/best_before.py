"""The best-before date of one lot, and what a label says of it; through a tree: inherited_dates."""

from calendar import monthrange
from collections.abc import Iterable
from datetime import date, timedelta

from workshop.rules.dates.calendar_days import add_months, show_day
from workshop.rules.errors import RuleError
from workshop.rules.markets.laws import law_of

# Regulation (EC) 1223/2009, article 19(1)(c): above this the open jar replaces the date.
LONGEST_DATED_MONTHS = 30


def best_before(
    made_on: date, shelf_life_months: int | None, consumed: Iterable[date | None]
) -> date | None:
    """Return the best before of a lot: made + shelf life, or any consumed lot's earlier date.

    Units: whole months; None for "no limit". Error: none.
    Source: common practice, no source.
    Raises: RuleError when the shelf life is not above zero.

    >>> best_before(date(2026, 1, 31), 18, [date(2027, 3, 15), None])
    datetime.date(2027, 3, 15)
    """
    dates = [day for day in consumed if day is not None]
    if shelf_life_months is not None:
        if shelf_life_months <= 0:
            raise RuleError("The shelf life must be at least one month.")
        dates.append(add_months(made_on, shelf_life_months))
    return min(dates, default=None)


def is_past(best_before: date | None, today: date) -> bool:
    """Say whether a lot is past its date; the date itself is the last good day.

    >>> is_past(date(2027, 3, 15), date(2027, 3, 15)), is_past(date(2027, 3, 15), date(2027, 3, 16))
    (False, True)
    """
    return best_before is not None and today > best_before


def needs_period_after_opening(durability_months: int) -> bool:
    """Say whether the open jar symbol with months replaces the best before date (EU).

    Units: whole months. Error: none.
    Source: Regulation (EC) 1223/2009, article 19(1)(c): minimum durability above 30 months.
    Raises: nothing.

    >>> needs_period_after_opening(30), needs_period_after_opening(31)
    (False, True)
    """
    return durability_months > LONGEST_DATED_MONTHS


def last_full_month(day: date) -> date:
    """Return the last day of the latest month that has ended by `day`.

    A label that gives only month and year promises the whole month, so it must name this one.

    >>> last_full_month(date(2027, 3, 15)), last_full_month(date(2027, 3, 31))
    (datetime.date(2027, 2, 28), datetime.date(2027, 3, 31))
    """
    if day.day == monthrange(day.year, day.month)[1]:
        return day
    return day.replace(day=1) - timedelta(days=1)


def best_before_text(day: date, market: str) -> str:
    """Return the best before line of a label for `market`, to the day, in English.

    Source: Regulation (EC) 1223/2009, article 19(1)(c), wording from memory; the US asks for no
        date on a cosmetic, so the words there are common practice, no source.
    Raises: RuleError for another market.

    >>> best_before_text(date(2027, 3, 15), "EU"), best_before_text(date(2027, 3, 15), "US")
    ('Best used before the end of: 15 Mar 2027', 'Best by 15 Mar 2027')
    """
    return f"{law_of(market).date_phrase} {show_day(day)}"


def period_after_opening_text(months: int) -> str:
    """Return what stands in the open jar: months and the letter M.

    >>> period_after_opening_text(12)
    '12M'
    """
    if not 1 <= months <= 99:
        raise RuleError("The period after opening is from 1 to 99 months.")
    return f"{months}M"
