"""Dates: month ends, the earliest date, the thirty-month rule and working days."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.dates.best_before import (
    best_before,
    best_before_text,
    is_past,
    last_full_month,
    needs_period_after_opening,
    period_after_opening_text,
)
from workshop.rules.dates.calendar_days import (
    add_months,
    business_days_after,
    keep_until,
    ready_on,
    show_day,
    us_federal_holidays,
)
from workshop.rules.errors import RuleError

days = st.dates(date(1990, 1, 1), date(2100, 12, 31))


@pytest.mark.parametrize(
    ("day", "months", "later"),
    [
        (date(2026, 8, 31), 6, date(2027, 2, 28)),
        (date(2027, 8, 31), 6, date(2028, 2, 29)),
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2026, 1, 31), 18, date(2027, 7, 31)),
        (date(2026, 3, 31), -1, date(2026, 2, 28)),
        (date(2026, 12, 15), 1, date(2027, 1, 15)),
        (date(2026, 5, 5), 0, date(2026, 5, 5)),
    ],
)
def test_months_later_is_the_same_day_or_the_end_of_a_shorter_month(
    day: date, months: int, later: date
) -> None:
    assert add_months(day, months) == later


@given(days, st.integers(-240, 240))
def test_months_later_falls_in_the_right_month(day: date, months: int) -> None:
    later = add_months(day, months)

    assert (later.year - day.year) * 12 + later.month - day.month == months
    assert later.day <= day.day


@pytest.mark.parametrize("months", [10**6, -(10**6)])
def test_months_beyond_the_calendar_are_refused(months: int) -> None:
    with pytest.raises(RuleError, match="beyond the calendar"):
        add_months(date(2026, 1, 1), months)


def test_calendar_reaches_from_its_first_year_to_its_last() -> None:
    assert add_months(date(1, 2, 1), -1) == date(1, 1, 1)
    assert add_months(date(9999, 11, 30), 1) == date(9999, 12, 30)
    for day, months in [(date(1, 1, 1), -1), (date(9999, 12, 1), 1)]:
        with pytest.raises(RuleError, match="beyond the calendar"):
            add_months(day, months)


def test_shelf_life_of_one_month_is_the_shortest() -> None:
    assert best_before(date(2026, 1, 31), 1, []) == date(2026, 2, 28)


def test_best_before_is_the_earliest_of_shelf_life_and_consumed_lots() -> None:
    made = date(2026, 1, 31)

    assert best_before(made, 18, []) == date(2027, 7, 31)
    assert best_before(made, 18, [None, date(2027, 3, 15)]) == date(2027, 3, 15)
    assert best_before(made, 18, [date(2030, 1, 1)]) == date(2027, 7, 31)
    assert best_before(made, None, [date(2030, 1, 1)]) == date(2030, 1, 1)
    assert best_before(made, None, [None]) is None


def test_shelf_life_of_no_month_is_refused() -> None:
    with pytest.raises(RuleError, match="at least one month"):
        best_before(date(2026, 1, 1), 0, [])


def test_date_itself_is_the_last_good_day() -> None:
    assert not is_past(date(2027, 3, 15), date(2027, 3, 15))
    assert is_past(date(2027, 3, 15), date(2027, 3, 16))
    assert not is_past(None, date(2027, 3, 16))


def test_open_jar_replaces_the_date_above_thirty_months() -> None:
    # Regulation (EC) 1223/2009, article 19(1)(c).
    assert [needs_period_after_opening(months) for months in (12, 30, 31, 36)] == [
        False,
        False,
        True,
        True,
    ]


def test_dates_are_shown_with_the_month_in_letters() -> None:
    assert show_day(date(2026, 11, 25)) == "25 Nov 2026"
    assert show_day(date(2026, 8, 7)) == "7 Aug 2026"
    assert best_before_text(date(2027, 7, 31), "EU") == "Best used before the end of: 31 Jul 2027"
    with pytest.raises(RuleError, match="use US, EU, UK"):
        best_before_text(date(2027, 7, 31), "MARS")


@given(days)
def test_month_on_a_label_has_ended_by_the_best_before(day: date) -> None:
    end = last_full_month(day)

    assert end <= day
    assert (end + timedelta(days=1)).day == 1
    assert day - end < timedelta(days=31)


def test_period_after_opening_is_months_and_the_letter_m() -> None:
    assert period_after_opening_text(6) == "6M"
    with pytest.raises(RuleError):
        period_after_opening_text(0)


def test_soap_is_ready_after_its_cure() -> None:
    assert ready_on(date(2026, 1, 31), 42) == date(2026, 3, 14)
    with pytest.raises(RuleError):
        ready_on(date(2026, 1, 31), -1)


def test_soap_may_cure_from_no_day_to_ten_years() -> None:
    assert ready_on(date(2026, 1, 31), 0) == date(2026, 1, 31)
    assert ready_on(date(2026, 1, 31), 3660) == date(2026, 1, 31) + timedelta(days=3660)
    with pytest.raises(RuleError, match="from 0 days to ten years"):
        ready_on(date(2026, 1, 31), 3661)


def test_period_after_opening_is_from_one_to_ninety_nine_months() -> None:
    assert [period_after_opening_text(months) for months in (1, 99)] == ["1M", "99M"]
    for months in (0, 100):
        with pytest.raises(RuleError, match="from 1 to 99"):
            period_after_opening_text(months)


def test_organic_records_are_kept_five_years() -> None:
    # 7 CFR 205.103(b)(3)
    assert keep_until(date(2026, 11, 25), 5) == date(2031, 11, 25)


def test_serious_reaction_received_on_an_observed_holiday_is_due_three_weeks_later() -> None:
    # Independence Day 2026 is a Saturday, observed on Friday 3 July; FD&C Act 605.
    assert business_days_after(date(2026, 7, 3), 15, us_federal_holidays(2026)) == date(2026, 7, 24)


def test_federal_holidays_of_2026_are_the_published_ones() -> None:
    # United States Office of Personnel Management, federal holidays 2026 (from memory).
    assert sorted(us_federal_holidays(2026)) == [
        date(2026, 1, 1),
        date(2026, 1, 19),
        date(2026, 2, 16),
        date(2026, 5, 25),
        date(2026, 6, 19),
        date(2026, 7, 3),
        date(2026, 9, 7),
        date(2026, 10, 12),
        date(2026, 11, 11),
        date(2026, 11, 26),
        date(2026, 12, 25),
    ]


def test_holidays_of_2027_on_a_sunday_and_on_the_last_day_of_a_month() -> None:
    # United States Office of Personnel Management, federal holidays 2027 (from memory).
    holidays = us_federal_holidays(2027)

    assert date(2027, 7, 5) in holidays  # the fourth is a Sunday
    assert {date(2027, 7, 4), date(2027, 7, 6)} & holidays == set()
    assert date(2027, 5, 31) in holidays  # the last Monday of May is its last day


def test_new_year_on_a_saturday_is_observed_in_the_old_year() -> None:
    assert date(2027, 12, 31) in us_federal_holidays(2027)
    assert date(2028, 1, 1) not in us_federal_holidays(2028)


@given(days, st.integers(1, 60))
def test_working_days_are_counted_one_by_one(day: date, count: int) -> None:
    end = business_days_after(day, count)
    between = [day + timedelta(days=step) for step in range(1, (end - day).days + 1)]

    assert sum(step.weekday() < 5 for step in between) == count
    assert end.weekday() < 5


def test_no_working_day_is_the_day_itself_and_less_is_refused() -> None:
    assert business_days_after(date(2026, 7, 4), 0) == date(2026, 7, 4)
    with pytest.raises(RuleError):
        business_days_after(date(2026, 7, 4), -1)


def test_a_thousand_working_days_are_counted_and_no_more() -> None:
    # 1000 working days are 200 whole weeks.
    assert business_days_after(date(2026, 7, 3), 1000) == date(2026, 7, 3) + timedelta(weeks=200)
    with pytest.raises(RuleError, match="from 0 to 1000"):
        business_days_after(date(2026, 7, 3), 1001)
