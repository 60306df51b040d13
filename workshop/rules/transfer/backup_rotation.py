"""Which backups are kept: all of late, then one a week, then one a month, then none."""

from collections.abc import Iterable
from datetime import date
from typing import NamedTuple


class KeepingRule(NamedTuple):
    """For how many days back all, one a week and one a month are kept.

    Common practice, no source: two weeks, a quarter of a year, and two years, by which records of
    cosmetics of the usual shelf life have been asked for or not.
    """

    all_days: int = 14
    weekly_days: int = 91
    monthly_days: int = 731


def kept(made_on: Iterable[date], *, today: date, rule: KeepingRule | None = None) -> set[date]:
    """The days whose backups stay; of a week or month it is the first one, and the newest always.

    **Units**: calendar days.

    >>> days = [date(2026, 1, 5), date(2026, 1, 6), date(2026, 3, 2)]
    >>> sorted(kept(days, today=date(2026, 3, 2)))  # 6 January shares its week with the 5th
    [datetime.date(2026, 1, 5), datetime.date(2026, 3, 2)]
    """
    rule = rule or KeepingRule()
    days = sorted(set(made_on))
    stay = set(days[-1:])
    weeks: set[tuple[int, int]] = set()
    months: set[tuple[int, int]] = set()
    for day in days:
        age = (today - day).days
        week, month = day.isocalendar()[:2], (day.year, day.month)
        if (
            age < rule.all_days
            or (age < rule.weekly_days and week not in weeks)
            or (age < rule.monthly_days and month not in months)
        ):
            stay.add(day)
            weeks.add(week)
            months.add(month)
    return stay
