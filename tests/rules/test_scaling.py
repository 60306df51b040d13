"""Scaling: weights that add up, and lots drawn first expired first out."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.errors import RuleError
from workshop.rules.quantities.first_expired import LotOnOffer, draw_lots
from workshop.rules.quantities.scaling import apportion, batch_weight_g, scale_formula

HALF_GRAM = Decimal("0.5")
steps = st.sampled_from([Decimal("0.001"), Decimal("0.01"), Decimal("0.1"), HALF_GRAM, Decimal(2)])
parts_lists = st.lists(st.fractions(0, 100), min_size=1, max_size=12).filter(sum)


@pytest.mark.parametrize(
    ("parts", "seats", "wanted"),
    [
        # Worked example of the largest remainder method printed in many textbooks (from memory):
        # votes 47, 16, 15.8, 12, 6.1, 3.1 thousand, ten seats.
        ([47000, 16000, 15800, 12000, 6100, 3100], 10, [5, 2, 1, 1, 1, 0]),
        # The same with 15 seats: exact 7.05, 2.40, 2.37, 1.80, 0.915, 0.465.
        ([47000, 16000, 15800, 12000, 6100, 3100], 15, [7, 2, 2, 2, 1, 1]),
    ],
)
def test_apportionment_matches_the_published_example(
    parts: list[int], seats: int, wanted: list[int]
) -> None:
    assert apportion(Decimal(seats), parts, Decimal(1)) == wanted


@given(parts_lists, st.integers(0, 10**6), steps)
def test_apportionment_loses_nothing_and_is_nearer_than_a_step(
    parts: list[Fraction], count: int, step: Decimal
) -> None:
    total = count * step
    shares = apportion(total, parts, step)

    assert sum(shares) == total
    for part, share in zip(parts, shares, strict=True):
        assert abs(Fraction(share) - Fraction(total) * part / sum(parts)) < Fraction(step)
        assert share % step == 0


@pytest.mark.parametrize(
    ("total", "parts", "step"),
    [
        ("1", [0, 0], "1"),
        ("1", [], "1"),
        ("1", [2, -1], "1"),
        ("1.2", [1], "0.5"),
        ("-1", [1], "1"),
    ],
)
def test_apportionment_of_nothing_sensible_is_refused(
    total: str, parts: list[int], step: str
) -> None:
    with pytest.raises(RuleError):
        apportion(Decimal(total), parts, Decimal(step))


def test_soft_balm_scales_at_half_a_gram() -> None:
    # A trade fact, common practice, no source: 37.3 g solid oil, 5.2 g wax, 3.6 g liquid oil.
    weights = apportion(Decimal(46), [Decimal("37.3"), Decimal("5.2"), Decimal("3.6")], HALF_GRAM)

    # Exact 37.219, 5.189 and 3.592: the first is furthest above its half gram.
    assert weights == [Decimal("37.5"), Decimal("5.0"), Decimal("3.5")]


def test_formula_that_is_not_a_hundred_per_cent_is_refused() -> None:
    with pytest.raises(RuleError) as caught:
        scale_formula([Decimal("60"), Decimal("39.9999")], Decimal(100), HALF_GRAM)
    assert str(caught.value) == "The shares of the formula add up to 99.9999 %, not 100 %."


def test_batch_weight_between_two_divisions_is_refused_with_the_one_that_would_do() -> None:
    with pytest.raises(RuleError) as caught:
        scale_formula([100], Decimal("100.2"), HALF_GRAM)
    assert str(caught.value) == (
        "The scale reads in steps of 0.5 g, so the batch cannot weigh 100.2 g. 100.5 g would do."
    )


def test_formula_scaled_to_nothing_is_refused() -> None:
    with pytest.raises(RuleError, match="must be above zero"):
        scale_formula([100], Decimal(0), HALF_GRAM)


@given(st.lists(st.integers(1, 50), min_size=1, max_size=10), st.integers(1, 20_000))
def test_formula_adds_up_at_the_division(parts: list[int], count: int) -> None:
    shares = [Fraction(100 * part, sum(parts)) for part in parts]

    assert sum(scale_formula(shares, count * HALF_GRAM, HALF_GRAM)) == count * HALF_GRAM


@given(
    st.integers(1, 1000),
    st.decimals(Decimal("0.1"), 500, places=1),
    st.decimals(0, Decimal("0.5"), places=3),
    steps,
)
def test_batch_weight_leaves_enough_after_the_loss_and_no_division_too_much(
    units: int, fill_g: Decimal, loss: Decimal, division_g: Decimal
) -> None:
    weight = Fraction(batch_weight_g(units, fill_g, loss, division_g=division_g))
    wanted = units * Fraction(fill_g)

    assert weight * (1 - Fraction(loss)) >= wanted
    assert (weight - Fraction(division_g)) * (1 - Fraction(loss)) < wanted


@pytest.mark.parametrize(
    ("units", "fill_g", "loss"), [(0, "60", "0"), (1, "0", "0"), (1, "60", "1"), (1, "60", "-0.1")]
)
def test_batch_weight_of_nothing_sensible_is_refused(units: int, fill_g: str, loss: str) -> None:
    with pytest.raises(RuleError):
        batch_weight_g(units, Decimal(fill_g), Decimal(loss))


def test_lots_are_drawn_first_expired_first_out_and_undated_ones_last() -> None:
    lots = [
        LotOnOffer("undated", Decimal(100)),
        LotOnOffer("late", Decimal(5), date(2027, 6, 1)),
        LotOnOffer("b-early", Decimal(2), date(2027, 1, 1)),
        LotOnOffer("a-early", Decimal(1), date(2027, 1, 1)),
        LotOnOffer("empty", Decimal(0), date(2026, 1, 1)),
        LotOnOffer("below zero", Decimal(-3), date(2026, 1, 1)),
        LotOnOffer("last day there is", Decimal(1), date.max),
    ]

    drawn, short = draw_lots(Decimal("9.5"), lots)

    assert drawn == [
        ("a-early", Decimal(1)),
        ("b-early", Decimal(2)),
        ("late", Decimal(5)),
        ("last day there is", Decimal(1)),
        ("undated", Decimal("0.5")),
    ]
    assert short == 0


def test_lots_that_do_not_suffice_leave_the_rest_short() -> None:
    assert draw_lots(Decimal(5), [LotOnOffer(7, Decimal(3))]) == ([(7, Decimal(3))], Decimal(2))
    assert draw_lots(Decimal(0), [LotOnOffer(7, Decimal(3))]) == ([], Decimal(0))


@given(
    st.decimals(0, 100, places=3),
    st.lists(st.tuples(st.decimals(-5, 50, places=3), st.none() | st.dates())),
)
def test_what_is_drawn_and_what_is_short_add_up_to_the_need(
    need: Decimal, offered: list[tuple[Decimal, date | None]]
) -> None:
    lots = [LotOnOffer(key, on_hand, day) for key, (on_hand, day) in enumerate(offered)]
    drawn, short = draw_lots(need, lots)

    assert sum(quantity for _, quantity in drawn) + short == need
    assert all(0 < quantity <= lots[key].on_hand for key, quantity in drawn)
    assert short == 0 or sum(max(lot.on_hand, Decimal(0)) for lot in lots) < need


def test_need_below_zero_is_refused() -> None:
    with pytest.raises(RuleError):
        draw_lots(Decimal(-1), [LotOnOffer(7, Decimal(3))])
