"""Adjusting a melt: the grams to add, worked by hand, and what the label then says."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.errors import RuleError
from workshop.rules.ingredients.composition import Constituent
from workshop.rules.kettle.adjust import (
    Limit,
    addition_for_share_g,
    after_addition,
    changes,
    limit_problems,
    substituted_shares,
)

OIL = Constituent("Olive Oil", is_organic=True)
WAX = Constituent("Cera Alba", "Beeswax", is_organic=True)
LAVENDER = Constituent("Lavandula Angustifolia Oil", status="agricultural")


def test_too_soft_balm_gets_the_wax_it_lacks() -> None:
    # By hand: 1000 g with 200 g wax; 25.641 g more make 225.641 of 1025.641 g, which is 22 %.
    added = addition_for_share_g(1000, Decimal("0.20"), Decimal("0.22"))

    assert added == Fraction(1000, 39)
    assert (200 + added) / (1000 + added) == Fraction(22, 100)


def test_too_hard_balm_gets_oil() -> None:
    assert addition_for_share_g(1000, Decimal("0.20"), Decimal("0.16"), 0) == 250


def test_melt_with_the_wanted_share_gets_nothing() -> None:
    assert addition_for_share_g(1000, Decimal("0.20"), Decimal("0.20")) == 0


def test_addition_that_cannot_bring_the_share_is_refused() -> None:
    with pytest.raises(RuleError) as caught:
        addition_for_share_g(1000, Decimal("0.20"), Decimal("0.22"), Decimal("0.22"))
    assert str(caught.value) == (
        "Adding something that is 22 % of it cannot bring the share from 20 % to 22 %. "
        "Choose another addition or another share."
    )
    for total, wanted in ((0, Decimal("0.3")), (1000, 2)):
        with pytest.raises(RuleError, match="There must be a melt"):
            addition_for_share_g(total, Decimal("0.20"), wanted)


three_shares = st.lists(st.integers(0, 1000), min_size=3, max_size=3, unique=True)


@given(st.integers(1, 9000), three_shares, st.sampled_from(["raise", "lower"]))
def test_addition_brings_the_wanted_share_exactly(
    total: int, thousandths: list[int], direction: str
) -> None:
    now, wanted, inside = (
        Fraction(share, 1000) for share in sorted(thousandths, reverse=direction == "lower")
    )
    added = addition_for_share_g(total, now, wanted, inside)

    assert added > 0
    assert (now * total + inside * added) / (total + added) == wanted


def test_changes_tell_list_organic_share_and_limits() -> None:
    plain_wax = Constituent("Candelilla Cera", "Candelilla Wax", status="agricultural")
    before = {OIL: Fraction(96, 100), WAX: Fraction(4, 100)}
    after = after_addition(before, 900, {plain_wax: Fraction(1)}, 100)
    found = changes(before, after, market="US")

    assert found.shares == (
        (OIL, Fraction(96, 100), Fraction(864, 1000)),
        (WAX, Fraction(4, 100), Fraction(36, 1000)),
        (plain_wax, Fraction(), Fraction(1, 10)),
    )
    assert found.sentences == (
        "The ingredient list would have to read: Olive Oil, Candelilla Cera (Candelilla Wax), "
        "Beeswax.",
        "The organic share goes from 100 % to 90 %, and the category from "
        '"100 percent organic" to "made with organic".',
    )
    assert found.limit_problems == ()


def test_change_that_moves_nothing_on_the_label_says_nothing() -> None:
    before = {OIL: Fraction(80, 100), WAX: Fraction(20, 100)}
    after = after_addition(before, 1000, {WAX: Fraction(1)}, 20)

    assert changes(before, after, market="EU").sentences == ()


def test_organic_share_may_move_within_its_category() -> None:
    before = {OIL: Fraction(98, 100), LAVENDER: Fraction(2, 100)}
    after = {OIL: Fraction(97, 100), LAVENDER: Fraction(3, 100)}

    assert changes(before, after, market="EU").sentences == (
        "The organic share goes from 98 % to 97 %.",
    )


def test_limits_count_an_oil_and_an_allergen_over_several_oils() -> None:
    rosewood = Constituent("Aniba Rosaeodora Oil")
    melt = {OIL: Fraction(97, 100), LAVENDER: Fraction(1, 100), rosewood: Fraction(2, 100)}
    oil = Limit("Lavender oil", Fraction(1, 100), {LAVENDER.inci_name: 1})
    linalool = Limit(
        "Linalool",
        Decimal("0.02"),
        {LAVENDER.inci_name: Decimal("0.35"), rosewood.inci_name: Decimal("0.85")},
    )

    assert linalool.share_in(melt) == Fraction("0.0205")
    assert limit_problems(melt, [oil, linalool]) == [
        "Linalool would be 2.05 %, and 2 % is the most."
    ]
    assert changes(melt, melt, market="EU", limits=[linalool]).limit_problems == (
        "Linalool would be 2.05 %, and 2 % is the most.",
    )


def test_substitute_takes_its_proportion_and_the_others_fill_up() -> None:
    assert substituted_shares([75, 20, 5], 1, Decimal("0.5")) == [
        Fraction(7500, 90),
        Fraction(1000, 90),
        Fraction(500, 90),
    ]
    for place, ratio in ((3, 1), (-1, 1), (0, 0)):
        with pytest.raises(RuleError):
            substituted_shares([75, 20, 5], place, ratio)
    with pytest.raises(RuleError, match="more than zero"):
        substituted_shares([0, 0], 0, 1)


@given(st.lists(st.integers(1, 100), min_size=1, max_size=8), st.fractions(Fraction(1, 10), 10))
def test_substituted_formula_adds_up_to_a_hundred(parts: list[int], ratio: Fraction) -> None:
    assert sum(substituted_shares(parts, 0, ratio)) == 100
