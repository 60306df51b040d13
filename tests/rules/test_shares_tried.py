"""Other shares in a formula: what was changed is as asked, the whole stays whole."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.errors import RuleError
from workshop.rules.quantities.rest_after_change import with_the_rest
from workshop.rules.quantities.whole_shares import STEP, whole_shares

wholes = st.lists(st.integers(1, 10_000).map(Decimal), min_size=2, max_size=12).map(whole_shares)
percents = st.integers(0, 1_000_000).map(lambda steps: steps * STEP)


def test_soft_balm_with_more_wax() -> None:
    """81, 11.5 and 7.5: with 15 of the wax, 85 is left for 88.5 parts (worked by hand)."""
    balm = [Decimal(81), Decimal("11.5"), Decimal("7.5")]
    assert with_the_rest(balm, {1: Decimal(15)}) == [
        Decimal("77.7966"),
        Decimal(15),
        Decimal("7.2034"),
    ]


@given(wholes, percents, st.data())
def test_the_rest_keeps_its_proportion(
    shares: list[Decimal], wanted: Decimal, data: st.DataObject
) -> None:
    place = data.draw(st.integers(0, len(shares) - 1))
    found = with_the_rest(shares, {place: wanted})
    assert sum(found) == 100
    assert found[place] == wanted
    rest = 100 - shares[place]
    for at, (was, now) in enumerate(zip(shares, found, strict=True)):
        if at != place:
            exact = Fraction(was) * Fraction(100 - wanted) / Fraction(rest)
            assert abs(exact - Fraction(now)) < Fraction(STEP)


@given(wholes, percents, st.data())
def test_one_line_gives_way_and_no_other(
    shares: list[Decimal], wanted: Decimal, data: st.DataObject
) -> None:
    place, gives = data.draw(st.permutations(range(len(shares))))[:2]
    if wanted > shares[place] + shares[gives]:
        with pytest.raises(RuleError, match="less than nothing"):
            with_the_rest(shares, {place: wanted}, gives)
        return
    found = with_the_rest(shares, {place: wanted}, gives)
    assert sum(found) == 100
    assert found[place] == wanted
    moved = {at for at, (was, now) in enumerate(zip(shares, found, strict=True)) if was != now}
    assert moved <= {place, gives}


def test_what_is_out_comes_back_only_by_name() -> None:
    """A line at nothing does not follow; there is no proportion to nothing."""
    assert with_the_rest([Decimal(60), Decimal(40), Decimal(0)], {0: Decimal(50)})[2] == 0


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({0: Decimal(101)}, "between 0 and 100"),
        ({0: Decimal(-1)}, "between 0 and 100"),
        ({0: Decimal(60), 1: Decimal(50)}, "more than 100 % together"),
        ({0: Decimal(30), 1: Decimal(30)}, "40 % is missing"),
    ],
)
def test_shares_that_cannot_be(changed: dict[int, Decimal], told: str) -> None:
    with pytest.raises(RuleError, match=told):
        with_the_rest([Decimal(60), Decimal(40)], changed)


def test_all_lines_said_and_whole() -> None:
    changed = {0: Decimal(30), 1: Decimal(70)}
    assert with_the_rest([Decimal(60), Decimal(40)], changed) == [30, 70]
    # A line at nothing that nobody named stays at nothing.
    assert with_the_rest([Decimal(60), Decimal(40), Decimal(0)], changed) == [30, 70, 0]


def test_line_that_gives_way_may_give_all_it_has_and_its_own_share_goes_before() -> None:
    whole = [Decimal(50), Decimal(30), Decimal(20)]
    assert with_the_rest(whole, {0: Decimal(70)}, 2) == [70, 30, 0]
    with pytest.raises(RuleError, match=r"0\.5 % less than nothing"):
        with_the_rest(whole, {0: Decimal("70.5")}, 2)
    assert with_the_rest(whole, {0: Decimal(40), 1: Decimal(25)}, 2) == [40, 25, 35]
    # Said as well as giving way: the rest follows what was said.
    assert with_the_rest(whole, {0: Decimal(40), 2: Decimal(30)}, 2) == [40, 30, 30]
    assert with_the_rest(whole, {0: Decimal(100)}) == [100, 0, 0]
    assert with_the_rest(whole, {0: Decimal(0)}) == [0, 60, 40]


@pytest.mark.parametrize(
    ("amounts", "shares"),
    # Worked by hand: largest remainders, of equal remainders the first.
    [
        (["7"], ["100"]),
        (["1", "2", "3"], ["16.6667", "33.3333", "50"]),
        (["1", "1", "1", "1", "1", "1", "1"], ["14.2858"] + ["14.2857"] * 6),
        (["0.001", "999.999"], ["0.0001", "99.9999"]),
        (["1", "5", "1"], ["14.2857", "71.4286", "14.2857"]),
    ],
)
def test_what_rounding_leaves_goes_to_those_that_lost_most(
    amounts: list[str], shares: list[str]
) -> None:
    assert whole_shares([*map(Decimal, amounts)]) == [*map(Decimal, shares)]


@pytest.mark.parametrize("amounts", [[], ["0"], ["5", "0"], ["5", "-0.1"]])
def test_no_whole_is_made_of_nothing(amounts: list[str]) -> None:
    with pytest.raises(RuleError, match="above zero"):
        whole_shares([*map(Decimal, amounts)])


@given(st.lists(st.integers(1, 10**6).map(Decimal), min_size=1, max_size=20))
def test_each_share_is_within_a_step_of_its_exact_one_and_all_are_a_hundred(
    amounts: list[Decimal],
) -> None:
    shares = whole_shares(amounts)
    assert sum(shares) == 100
    for amount, share in zip(amounts, shares, strict=True):
        exact = Fraction(amount) * 100 / Fraction(sum(amounts))
        assert abs(Fraction(share) - exact) < Fraction(STEP)
