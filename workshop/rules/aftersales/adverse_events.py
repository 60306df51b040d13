"""The clock and the retention of reports of harm by a cosmetic."""

from datetime import date

from workshop.rules.dates.calendar_days import business_days_after, keep_until, us_federal_holidays
from workshop.rules.errors import RuleError

REPORT_WITHIN_BUSINESS_DAYS = 15
LAST_YEAR = 9997  # of whose next one the holidays can still be told
KEPT_YEARS, KEPT_YEARS_SMALL_BUSINESS = 6, 3


def report_due_on(received_on: date) -> date:
    """Return the last day to report a serious adverse event to the FDA.

    Units: calendar days; Monday to Friday without federal holidays count.
    Error: none. Source: FD&C Act 605(b): 15 business days after the report is received.
    Raises: RuleError beyond the calendar.

    >>> report_due_on(date(2026, 7, 3))
    datetime.date(2026, 7, 24)
    """
    if received_on.year > LAST_YEAR:
        raise RuleError("This day is beyond the calendar.")
    holidays = us_federal_holidays(received_on.year) | us_federal_holidays(received_on.year + 1)
    return business_days_after(received_on, REPORT_WITHIN_BUSINESS_DAYS, holidays)


def records_kept_until(received_on: date, *, small_business: bool) -> date:
    """Return the last day on which the records of an adverse event must be kept.

    Units: whole years, 6, or 3 for a small business. Error: none.
    Source: FD&C Act 605(e), as summed up by several consultancies; counted from receipt.
    Raises: RuleError beyond the calendar.

    >>> records_kept_until(date(2026, 11, 25), small_business=True)
    datetime.date(2029, 11, 25)
    """
    years = KEPT_YEARS_SMALL_BUSINESS if small_business else KEPT_YEARS
    return keep_until(received_on, years)
