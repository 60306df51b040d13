"""Balances of mass, with the worked figures of a certifier's form A + B - D = C (kg as grams)."""

from dataclasses import astuple, fields, replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.errors import RuleError
from workshop.rules.organic.mass_balance import (
    Claimed,
    MassBalance,
    claim_holds,
    needed_g,
    verdict,
)

TWO = Fraction(2)


@pytest.mark.parametrize(
    ("used", "counted", "share", "said"),
    [  # opening 120, bought 400, closing 85, loss 3; "C = A + B - D", article quoting 205.403(d)(4)
        (430, -2, "0.385", "small shortage"),
        (418, -14, "2.692", "large shortage"),
        (452, 20, "-3.846", "more than there can be"),
        (432, 0, "0.000", "adds up"),
    ],
)
def test_beeswax_of_a_year(used: int, counted: int, share: str, said: str) -> None:
    wax = MassBalance(opening=120, received=400, used=used, shed=3, counted=counted)

    assert wax.closing == 85
    assert wax.available - wax.closing == 435
    assert f"{float((wax.unexplained_share or 0) * 100):.3f}" == share
    assert verdict(wax, TWO) == said


def test_wax_with_a_weighed_loss() -> None:
    # opening 1 500 g, received 5 000 g, used 4 820 g, lost 30 g, counted 1 640 g: 10 g, 0.15 %
    wax = MassBalance(opening=1500, received=5000, used=4820, shed=30, counted=-10)

    assert (wax.expected, wax.closing, wax.unexplained) == (1650, 1640, 10)
    assert wax.unexplained_share == Fraction(10, 6500)


def test_what_tins_needed() -> None:
    # 1 880 tins of 30 g, yield 0.96, a quarter beeswax: 14.6875 kg; C = 2.10 + 15.00 - 2.35
    needed = needed_g(1880, Fraction(30), Fraction(96, 100), Fraction(1, 4))

    assert needed == Fraction("14687.5")
    assert 14_750 - needed == Fraction("62.5")
    with pytest.raises(RuleError, match="above zero"):
        needed_g(1, Fraction(1), Fraction(0), Fraction(1))


def test_nothing_available_is_no_share() -> None:
    assert MassBalance().unexplained_share is None
    assert verdict(MassBalance(counted=-1), TWO) == "more than there can be"  # it closes below zero


balances = st.builds(
    MassBalance, **{each.name: st.integers(-(10**12), 10**12) for each in fields(MassBalance)}
)


@given(st.integers(0, 10**9), st.lists(balances, min_size=1, max_size=6))
def test_closing_is_the_next_opening_for_any_split(opening: int, parts: list[MassBalance]) -> None:
    names = [each.name for each in fields(MassBalance)]

    def opened(part: MassBalance, at: int) -> MassBalance:
        return MassBalance(**dict(zip(names, astuple(part), strict=True)) | {"opening": at})

    whole = opened(parts[0], opening)
    last = whole
    for part in parts[1:]:
        last = opened(part, last.closing)
        whole = replace(whole + last, opening=whole.opening)

    assert whole.opening == opening
    assert whole.closing == last.closing
    assert whole.available - whole.outgoing - whole.unexplained == whole.closing


@pytest.mark.parametrize(
    ("claimed", "holds"),
    [
        (Claimed(100, 96, 90), True),
        (Claimed(100, 100, 100), True),
        (Claimed(100, 101, 90), False),
        (Claimed(100, 90, 91), False),
    ],
)
def test_no_more_is_sold_as_organic_than_made_nor_made_than_bought(
    claimed: Claimed, *, holds: bool
) -> None:
    assert claim_holds(claimed) == holds


def test_each_way_in_and_out_moves_the_balance_its_own_way() -> None:
    # A + B - D = C, the form's own letters; worked by hand.
    wax = MassBalance(
        opening=100, taken_over=20, received=300, made=40, returned=5, used=200, sent=30,
        written_off=10, shed=7, counted=-3,
    )  # fmt: skip

    assert (wax.available, wax.outgoing) == (460, 242)
    assert (wax.expected, wax.closing) == (218, 215)


def test_nothing_left_adds_up_and_less_than_nothing_is_more_than_there_can_be() -> None:
    assert verdict(MassBalance(received=10, used=10), TWO) == "adds up"
    assert verdict(MassBalance(received=10, used=11), TWO) == "more than there can be"
    # The tolerance met exactly is within it.
    assert verdict(MassBalance(received=100, used=90, counted=-2), TWO) == "small shortage"
    assert verdict(MassBalance(received=100, used=90, counted=-3), TWO) == "large shortage"
