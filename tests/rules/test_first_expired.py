"""First expired first out: which lots are drawn on. Common practice, no source; by hand."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.errors import RuleError
from workshop.rules.quantities.first_expired import LotOnOffer, draw_lots

MARCH, APRIL = date(2027, 3, 31), date(2027, 4, 30)


def lot(key: str, on_hand: str, best_before: date | None = None) -> LotOnOffer[str]:
    return LotOnOffer(key, Decimal(on_hand), best_before)


@pytest.mark.parametrize(
    ("need", "lots", "drawn", "short"),
    [
        ("5", [lot("A", "9"), lot("B", "3", APRIL), lot("C", "1", MARCH)], "C1 B3 A1", "0"),
        # Of two that expire together the one with the lower key; one without a date goes last,
        # even behind the last day there is.
        ("3", [lot("B", "2", MARCH), lot("A", "2", MARCH)], "A2 B1", "0"),
        ("3", [lot("A", "2"), lot("B", "2", date.max)], "B2 A1", "0"),
        # Less than one of the unit is something; nothing on hand, or less, is passed over.
        ("0.75", [lot("A", "0.25"), lot("B", "0"), lot("C", "-1"), lot("D", "9")],
         "A0.25 D0.50", "0"),
        ("5", [lot("A", "2")], "A2", "3"),
        ("2", [lot("A", "2"), lot("B", "9")], "A2", "0"),
        ("0", [lot("A", "2")], "", "0"),
        ("0.5", [], "", "0.5"),
    ],
)  # fmt: skip
def test_earliest_goes_first(
    need: str, lots: list[LotOnOffer[str]], drawn: str, short: str
) -> None:
    expected = [(one[0], Decimal(one[1:])) for one in drawn.split()]
    assert draw_lots(Decimal(need), lots) == (expected, Decimal(short))


def test_need_below_nothing_is_refused() -> None:
    with pytest.raises(RuleError, match="cannot be below zero"):
        draw_lots(Decimal("-0.1"), [lot("A", "2")])


quantities = st.decimals(0, 100, places=2)


@given(quantities, st.lists(st.tuples(quantities, st.none() | st.dates()), max_size=6))
def test_drawn_and_short_are_the_need_and_no_lot_gives_more_than_it_has(
    need: Decimal, offered: list[tuple[Decimal, date | None]]
) -> None:
    lots = [LotOnOffer(place, *one) for place, one in enumerate(offered)]
    drawn, short = draw_lots(need, lots)
    assert sum(take for _, take in drawn) + short == need
    assert all(0 < take <= lots[key].on_hand for key, take in drawn)
    assert short == max(Decimal(0), need - sum(one.on_hand for one in lots))
    days = [lots[key].best_before or date.max for key, _ in drawn]
    assert days == sorted(days)
