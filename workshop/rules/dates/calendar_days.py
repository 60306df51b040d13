"""Days of the calendar as the trade reckons with them: months on, cure, retention, working days."""

from calendar import monthrange
from collections.abc import Collection
from datetime import date, timedelta

from workshop.rules.errors import RuleError

MONTH_NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
# Fixed days, then (month, weekday, which one; -1 is the last). Source: 5 U.S.C. 6103, from memory.
FIXED_HOLIDAYS = ((1, 1), (6, 19), (7, 4), (11, 11), (12, 25))
FLOATING_HOLIDAYS = ((1, 0, 3), (2, 0, 3), (5, 0, -1), (9, 0, 1), (10, 0, 2), (11, 3, 4))


def add_months(day: date, months: int) -> date:
    """Return the same day `months` later, or the last day of a shorter month.

    Units: whole months, below zero for earlier. Error: none.
    Source: common practice, no source.
    Raises: RuleError when the result is beyond the calendar (years 1 to 9999).

    >>> add_months(date(2026, 8, 31), 6), add_months(date(2027, 8, 31), 6)
    (datetime.date(2027, 2, 28), datetime.date(2028, 2, 29))
    """
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    if not 1 <= year <= 9999:
        raise RuleError("That date is beyond the calendar. Please check the number of months.")
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def show_day(day: date) -> str:
    """Return `day` as every screen and paper shows it.

    >>> show_day(date(2026, 11, 5))
    '5 Nov 2026'
    """
    return f"{day.day} {MONTH_NAMES[day.month - 1]} {day.year}"


def ready_on(made_on: date, cure_days: int) -> date:
    """Return the first day on which a soap that cures `cure_days` may be packed.

    Units: whole days (six weeks are 42). Error: none.
    Source: common practice, no source (four to six weeks for a cold-process bar).
    Raises: RuleError when the days are below zero or beyond ten years.

    >>> ready_on(date(2026, 1, 31), 42)
    datetime.date(2026, 3, 14)
    """
    if not 0 <= cure_days <= 3660:
        raise RuleError("The cure must be from 0 days to ten years.")
    return made_on + timedelta(days=cure_days)


def keep_until(created_on: date, years: int) -> date:
    """Return the last day on which a record must still be kept.

    Units: whole years (organic records 5, 7 CFR 205.103(b)(3)). Error: none.
    Source: "not less than 5 years beyond their creation".
    Raises: as `add_months`.

    >>> keep_until(date(2024, 2, 29), 5)
    datetime.date(2029, 2, 28)
    """
    return add_months(created_on, 12 * years)


def us_federal_holidays(year: int) -> set[date]:
    """Return the federal holidays observed in `year`, a Saturday's on Friday, a Sunday's on Monday.

    New Year's Day of the next year counts here when it is observed on 31 December.

    Units: one calendar year. Error: none. Source: 5 U.S.C. 6103, from memory.
    Raises: nothing for the years 1 to 9998.

    >>> date(2026, 7, 3) in us_federal_holidays(2026)
    True
    """
    fixed = [date(year, month, day) for month, day in FIXED_HOLIDAYS] + [date(year + 1, 1, 1)]
    observed = {day + timedelta(days={5: -1, 6: 1}.get(day.weekday(), 0)) for day in fixed}
    floating = {_nth_weekday(year, *rule) for rule in FLOATING_HOLIDAYS}
    return {day for day in observed | floating if day.year == year}


def business_days_after(day: date, count: int, holidays: Collection[date] = ()) -> date:
    """Return the `count`-th working day after `day`, Monday to Friday without `holidays`.

    Units: working days; day 1 is the first working day after `day`.
    Error: none. Source: FD&C Act 605 (15 business days), the counting is common practice.
    Raises: RuleError when the count is below zero or above 1000.

    >>> business_days_after(date(2026, 7, 3), 15, us_federal_holidays(2026))
    datetime.date(2026, 7, 24)
    """
    if not 0 <= count <= 1000:
        raise RuleError("The number of working days must be from 0 to 1000.")
    while count:
        day += timedelta(days=1)
        count -= day.weekday() < 5 and day not in holidays
    return day


def _nth_weekday(year: int, month: int, weekday: int, which: int) -> date:
    days = [date(year, month, day) for day in range(1, monthrange(year, month)[1] + 1)]
    matching = [day for day in days if day.weekday() == weekday]
    return matching[which - 1 if which > 0 else which]
