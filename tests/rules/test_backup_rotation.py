"""Which backups are kept: to the day on which a rule ends."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.transfer.backup_rotation import KeepingRule, kept

MONDAY = date(2026, 11, 30)
ONLY_ALL = KeepingRule(all_days=14, weekly_days=0, monthly_days=0)
ONLY_WEEKLY = KeepingRule(all_days=0, weekly_days=21, monthly_days=0)
ONLY_MONTHLY = KeepingRule(all_days=0, weekly_days=0, monthly_days=60)
EVERY_DAY = [MONDAY - timedelta(days=age) for age in range(100)]


def ages(rule: KeepingRule, made_on: list[date] = EVERY_DAY) -> list[int]:
    return sorted((MONDAY - day).days for day in kept(made_on, today=MONDAY, rule=rule))


def test_of_two_weeks_every_day_is_kept_and_of_the_fifteenth_none() -> None:
    # Common practice, no source; worked by hand, as all of this page.
    assert ages(ONLY_ALL) == list(range(14))


def test_of_a_week_its_first_day_is_kept_while_the_week_is_young_enough() -> None:
    """Weeks begin on a Monday (ISO 8601); of a week cut in two, the first day of the rest."""
    assert ages(ONLY_WEEKLY) == [0, 7, 14, 20]


def test_of_a_month_its_first_day_is_kept() -> None:
    """1 November is 29 days ago, 1 October 60: its 2nd is the first day within sixty."""
    assert ages(ONLY_MONTHLY) == [0, 29, 59]


def test_the_same_month_of_another_year_is_another_month() -> None:
    years = [date(2024, 11, 30), date(2025, 11, 30), MONDAY]
    assert kept(years, today=MONDAY, rule=KeepingRule(0, 0, 731)) == {*years}


@pytest.mark.parametrize(("age", "stays"), [(730, True), (731, False)])
def test_by_the_usual_rule_one_a_month_stays_for_two_years(age: int, stays: bool) -> None:  # noqa: FBT001 -- a column of the table
    assert KeepingRule() == (14, 91, 731)
    day = MONDAY - timedelta(days=age)
    assert (day in kept([day, MONDAY], today=MONDAY)) == stays


def test_the_newest_stays_however_old_and_nothing_is_kept_of_nothing() -> None:
    old = [date(2001, 1, 1), date(2001, 1, 2)]
    assert kept(old, today=MONDAY) == {date(2001, 1, 2)}
    assert kept([], today=MONDAY) == set()


@given(st.sets(st.integers(0, 900), min_size=1))
def test_each_young_week_and_month_of_which_there_was_a_backup_keeps_one(made: set[int]) -> None:
    days = [MONDAY - timedelta(days=age) for age in made]
    stay = kept(days, today=MONDAY)
    assert stay <= set(days)
    for limit, part in ((91, "%G-%V"), (731, "%Y-%m")):
        young = {day.strftime(part) for day in days if (MONDAY - day).days < limit}
        assert young <= {day.strftime(part) for day in stay}
    # Kept once is kept until its rule ends: what stays today stays when it is asked again.
    assert kept(stay, today=MONDAY) == stay
