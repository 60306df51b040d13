"""Days as people write them in tables: each form, and what can be two days is asked about."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.errors import RuleError
from workshop.rules.transfer.written_days import DayOrder, order_of, read_day

FIFTH_OF_MARCH = date(2026, 3, 5)
days = st.dates(date(1000, 1, 1), date(9999, 12, 31))


@pytest.mark.parametrize(
    "text",
    # ISO 8601-1:2019, 5.2.2, for the first; the others are common practice, no source.
    [
        "2026-03-05", "2026-3-5", " 2026-03-05 ", "5.3.2026", "05.03.2026", "5. 3. 2026",
        "5 Mar 2026", "05 March 2026", "5-Mar-2026", "Mar 5, 2026", "March 5, 2026",
    ],
)  # fmt: skip
def test_every_usual_form_is_read_without_asking(text: str) -> None:
    assert read_day(text) == FIFTH_OF_MARCH


@given(days)
def test_every_day_is_read_back_from_each_form_in_figures(day: date) -> None:
    y, m, d = day.year, day.month, day.day
    assert read_day(day.isoformat()) == day
    assert read_day(f"{d}.{m}.{y}") == day
    assert read_day(f"{d}/{m}/{y}", DayOrder.DAY_FIRST) == day
    assert read_day(f"{m}-{d}-{y}", DayOrder.MONTH_FIRST) == day


@given(days)
def test_slashed_day_is_asked_about_just_when_both_orders_give_a_day_and_not_the_same(
    day: date,
) -> None:
    first, second = f"{day.day}/{day.month}/{day.year}", f"{day.month}/{day.day}/{day.year}"
    if day.day <= 12 and day.day != day.month:
        for text in (first, second):
            with pytest.raises(RuleError, match=rf"^“{text}” can be two days\. Say whether"):
                read_day(text)
            assert order_of([text]) is None
        return
    assert read_day(first) == read_day(second) == day
    # What cannot be read in another way is read so whatever the table's order is.
    assert read_day(first, DayOrder.MONTH_FIRST) == read_day(second, DayOrder.DAY_FIRST) == day


@pytest.mark.parametrize(
    ("cells", "order"),
    [
        (["13/1/2026"], DayOrder.DAY_FIRST),
        (["1/13/2026"], DayOrder.MONTH_FIRST),
        (["12/12/2026", "12/1/2026", "1/12/2026"], None),
        (["shea", "2026-11-25", "3-4-2026", "25-4-2026"], DayOrder.DAY_FIRST),
        (["3/4/2026", "4/25/2026", "25/4/2026"], DayOrder.MONTH_FIRST),  # the first that shows it
        ([" 25/4/2026 "], DayOrder.DAY_FIRST),
        ([], None),
    ],
)
def test_order_of_a_table_is_shown_by_a_number_above_twelve(
    cells: list[str], order: DayOrder | None
) -> None:
    assert order_of(cells) == order


@pytest.mark.parametrize(
    "text",
    ["", "soon", "2026-02-30", "31.4.2026", "29/2/2026", "13/13/2026", "0/0/2026", "5 Mrz 2026",
     "2026-11", "25.11.26", "1.2.20260"],
)  # fmt: skip
def test_what_is_no_day_of_the_calendar_is_refused_with_what_was_written(text: str) -> None:
    with pytest.raises(RuleError) as refused:
        read_day(text)
    assert str(refused.value) == f"“{text}” is not a day of the calendar. Write it as 2026-11-25."
