"""Best-before dates down a family tree."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.dates.inherited_dates import MadeLot, tree_dates
from workshop.rules.errors import RuleError

DAY = date(2026, 11, 25)


def made(own: int | None, *sources: int, on: int = 0) -> MadeLot:
    """A lot that would keep `own` days, of these, made `on` days after the first."""
    day = DAY + timedelta(days=on)
    return MadeLot(day, None if own is None else day + timedelta(days=own), frozenset(sources))


def test_earliest_date_reaches_the_last_lot_through_three_depths() -> None:
    infusion, salve, tin = made(400, 1), made(365, 2, 3), made(None, 4)
    bought = {1: DAY + timedelta(days=67), 2: None}

    due = tree_dates({3: infusion, 4: salve, 5: tin}, bought)

    assert due == dict.fromkeys((3, 4, 5), DAY + timedelta(days=67))


def test_lot_of_nothing_dated_has_no_date() -> None:
    assert tree_dates({2: made(None, 1)}, {1: None}) == {2: None}


def test_lot_made_from_what_was_past_its_date_has_the_day_it_was_made() -> None:
    assert tree_dates({2: made(365, 1, on=10)}, {1: DAY}) == {2: DAY + timedelta(days=10)}


def test_lot_made_from_itself_has_no_date_that_follows() -> None:
    with pytest.raises(RuleError, match="made from itself"):
        tree_dates({1: made(1, 2), 2: made(1, 1)}, {})


@given(
    st.lists(st.tuples(st.none() | st.integers(0, 900), st.sets(st.integers(0, 30))), max_size=30)
)
def test_no_lot_keeps_longer_than_itself_or_anything_in_it(
    rows: list[tuple[int | None, set[int]]],
) -> None:
    # Lot n is made of lots below n only; the first two were bought.
    bought: dict[int, date | None] = {0: DAY + timedelta(days=90), 1: None}
    lots = {
        place: made(own, *(one % place for one in sources))
        for place, (own, sources) in enumerate(rows, start=2)
    }

    due = bought | tree_dates(lots, bought)

    for key, lot in lots.items():
        limits = [day for day in (lot.own, *(due[one] for one in lot.sources)) if day]
        assert due[key] == min(limits, default=None)
