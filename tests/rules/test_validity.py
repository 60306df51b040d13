"""Which version of something held on a day."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.dates.validity import in_force

DAYS = st.dates(min_value=date(2020, 1, 1), max_value=date(2030, 12, 31))


def test_version_holds_from_its_first_day_until_the_next_begins() -> None:
    march, june = date(2026, 3, 1), date(2026, 6, 1)
    versions = {june: "b", march: "a"}

    held = {day: in_force(versions, day) for day in (date(2026, 2, 28), march, date(2026, 5, 31))}

    assert held == {date(2026, 2, 28): None, march: "a", date(2026, 5, 31): "a"}
    assert in_force(versions, june) == in_force(versions, date(2030, 1, 1)) == "b"


def test_nothing_holds_where_nothing_was_entered() -> None:
    assert in_force({}, date(2026, 1, 1)) is None


@given(st.dictionaries(DAYS, st.integers(), min_size=1), DAYS)
def test_a_later_version_never_changes_what_held_before(
    versions: dict[date, int], on: date
) -> None:
    later = {**versions, on + timedelta(days=1): -1}

    assert in_force(later, on) == in_force(versions, on)
