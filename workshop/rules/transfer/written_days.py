"""Days as people write them in tables, and whether they can be read without asking."""

import re
from collections.abc import Iterable
from datetime import date, datetime
from enum import StrEnum

from workshop.rules.errors import RuleError


class DayOrder(StrEnum):
    """Which of the first two numbers of 3/4/2026 is the day; common practice, no source."""

    DAY_FIRST = "day first"
    MONTH_FIRST = "month first"


ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")
DOTTED = re.compile(r"(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})")
SLASHED = re.compile(r"(\d{1,2})[/-](\d{1,2})[/-](\d{4})")
NAMED = ("%d %b %Y", "%d %B %Y", "%d-%b-%Y", "%b %d, %Y", "%B %d, %Y")


def read_day(text: str, order: DayOrder | None = None) -> date:
    """The calendar day in `text`.

    **Source**: ISO 8601-1:2019, 5.2.2 for 2026-11-25; the others are common practice, no source.
    **Raises**: RuleError for no day, or 3/4/2026 while nobody said which comes first.

    >>> read_day("2026-11-25") == read_day("25.11.2026") == read_day("25 Nov 2026")
    True
    >>> read_day("11/25/2026"), read_day("3/4/2026", DayOrder.DAY_FIRST)
    (datetime.date(2026, 11, 25), datetime.date(2026, 4, 3))
    """
    bare = text.strip()
    try:
        if match := ISO.fullmatch(bare):
            return date(*(int(part) for part in match.groups()))
        if match := DOTTED.fullmatch(bare):
            day, month, year = (int(part) for part in match.groups())
            return date(year, month, day)
        if match := SLASHED.fullmatch(bare):
            first, second, year = (int(part) for part in match.groups())
            return date(year, *_month_and_day(first, second, order, text))
        return _named(bare)
    except RuleError:
        raise
    except ValueError as error:
        raise RuleError(
            f"“{text}” is not a day of the calendar. Write it as 2026-11-25."
        ) from error


def _month_and_day(first: int, second: int, order: DayOrder | None, text: str) -> tuple[int, int]:
    if first > 12 or first == second:
        order = DayOrder.DAY_FIRST
    elif second > 12:
        order = DayOrder.MONTH_FIRST
    if order is None:
        raise RuleError(f"“{text}” can be two days. Say whether the day or the month comes first.")
    return (second, first) if order == DayOrder.DAY_FIRST else (first, second)


def _named(text: str) -> date:
    for form in NAMED:
        try:
            return datetime.strptime(text, form).date()  # noqa: DTZ007 -- a day has no zone
        except ValueError:
            continue
    raise ValueError(text)


def order_of(cells: Iterable[str]) -> DayOrder | None:
    """Which comes first in a table, if any of its days shows it.

    >>> order_of(["3/4/2026", "25/4/2026"]), order_of(["3/4/2026"])
    (<DayOrder.DAY_FIRST: 'day first'>, None)
    """
    for match in filter(None, (SLASHED.fullmatch(cell.strip()) for cell in cells)):
        if int(match[1]) > 12:
            return DayOrder.DAY_FIRST
        if int(match[2]) > 12:
            return DayOrder.MONTH_FIRST
    return None
