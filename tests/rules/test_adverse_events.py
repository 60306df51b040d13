"""The clock of a serious adverse event: counted on a calendar by hand, and by NumPy."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.aftersales.adverse_events import records_kept_until, report_due_on
from workshop.rules.dates.calendar_days import us_federal_holidays
from workshop.rules.errors import RuleError

days = st.dates(date(2023, 12, 29), date(2090, 12, 31))  # the duty began on 29 December 2023


@pytest.mark.parametrize(
    ("received_on", "due_on"),
    [
        # FD&C Act 605(b): 15 business days. Holidays of 5 U.S.C. 6103; each counted by hand.
        (date(2026, 11, 10), date(2026, 12, 3)),  # Veterans Day the day after, Thanksgiving
        (date(2026, 11, 13), date(2026, 12, 7)),  # Thanksgiving, Thursday 26 November
        (date(2026, 11, 26), date(2026, 12, 17)),  # received on Thanksgiving itself
        (date(2026, 12, 14), date(2027, 1, 6)),  # Christmas and New Year, both on a Friday
        (date(2026, 12, 23), date(2027, 1, 15)),
        (date(2027, 12, 17), date(2028, 1, 11)),  # both on a Saturday, kept on the Friday before
        (date(2028, 12, 22), date(2029, 1, 17)),  # both on a Monday, and the third one of January
        (date(2022, 12, 16), date(2023, 1, 10)),  # both on a Sunday, kept on the Monday after
        (date(2026, 6, 14), date(2026, 7, 7)),  # a Sunday; Juneteenth and Independence Day
        (date(2026, 2, 2), date(2026, 2, 24)),  # Washington's Birthday, third Monday
    ],
)
def test_report_is_due_fifteen_business_days_after_receipt(received_on: date, due_on: date) -> None:
    assert report_due_on(received_on) == due_on


@given(days)
def test_due_day_is_the_one_that_numpy_counts(received_on: date) -> None:
    years = range(received_on.year - 1, received_on.year + 2)
    holidays = sorted(day for year in years for day in us_federal_holidays(year))
    counted = np.busday_offset(received_on, 15, roll="backward", holidays=holidays)

    assert report_due_on(received_on) == counted.astype(date)


@given(days)
def test_due_day_is_a_business_day_about_three_weeks_on(received_on: date) -> None:
    due_on = report_due_on(received_on)

    assert due_on.weekday() < 5
    assert due_on not in us_federal_holidays(due_on.year)
    # Fifteen days are three weeks; two holidays and a weekend to begin with add four at most.
    assert timedelta(days=19) <= due_on - received_on <= timedelta(days=26)


def test_records_are_kept_six_years_and_three_by_a_small_business() -> None:
    # FD&C Act 605(e)
    received_on = date(2024, 2, 29)

    assert records_kept_until(received_on, small_business=False) == date(2030, 2, 28)
    assert records_kept_until(received_on, small_business=True) == date(2027, 2, 28)


def test_clock_ends_with_the_calendar() -> None:
    with pytest.raises(RuleError):
        report_due_on(date.max)
    with pytest.raises(RuleError):
        records_kept_until(date.max, small_business=True)
