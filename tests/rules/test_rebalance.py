"""Rebalancing: hand-worked kettles, and SciPy's linear programming as a second opinion."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from workshop.rules.errors import RuleError
from workshop.rules.kettle.rebalance import (
    KettleLine,
    full_restoration,
    least_addition,
    out_of_tolerance,
    share_to_keep,
    shares_with,
    weighable_addition,
)

TWO_PERCENT = Fraction(2, 100)


def line(name: str, share: int | str, in_kettle: int | str, **more: Any) -> KettleLine:
    return KettleLine(
        name, Decimal(share), more.pop("tolerance", TWO_PERCENT), Decimal(in_kettle), **more
    )


def test_over_poured_wax_is_cured_by_the_least_oil() -> None:
    # By hand: 230 g of wax may be 20.4 % at most, so the kettle must hold 230 / 0.204 g.
    additions = least_addition([line("oil", 80, 800), line("wax", 20, 230)], 5000)

    assert additions == [Fraction(230) / Fraction("0.204") - 1030, 0]


def test_lines_still_to_come_are_part_of_the_addition() -> None:
    # By hand: oil 630 poured for 600. Wax and shea must be 24.5 % and 14.7 % at least, which
    # leaves 60.8 % for the oil, so the kettle must hold 630 / 0.608 g.
    lines = [line("oil", 60, 630), line("wax", 25, 0), line("shea", 15, 0)]
    oil, wax, shea = least_addition(lines, 5000)

    assert oil == 0
    assert wax + shea == Fraction(630) / Fraction("0.608") - 630
    assert wax / shea == Fraction(25, 15)
    assert out_of_tolerance(lines, [oil, wax, shea]) == []


def test_full_restoration_brings_every_share_back_exactly() -> None:
    lines = [line("oil", 80, 800), line("wax", 20, 230)]
    additions = full_restoration(lines, 5000)

    assert additions == [120, 0]
    assert shares_with(lines, additions) == [Fraction(4, 5), Fraction(1, 5)]


def test_kettle_within_tolerance_needs_nothing() -> None:
    assert least_addition([line("oil", 80, 801), line("wax", 20, 199)], 1000) == [0, 0]
    assert least_addition([line("oil", 80, 0), line("wax", 20, 0)], 1000) == [0, 0]


def test_weighable_addition_is_in_steps_and_within_tolerance() -> None:
    lines = [line("oil", 80, 800), line("wax", 20, 230)]
    additions = weighable_addition(lines, 5000)

    assert additions == [Decimal("97.5"), Decimal(0)]
    assert out_of_tolerance(lines, additions) == []
    assert out_of_tolerance(lines, [97, 0]) == ["wax"]


def test_small_line_is_added_on_the_fine_scale() -> None:
    lines = [
        line("oil", "89.5", 895),
        line("wax", 10, 108),
        line("lavender", "0.5", 5, division_g=Decimal("0.01")),
    ]
    additions = weighable_addition(lines, 5000)

    # The least is 50.824 g; 50.83 g is the first that these two scales can make.
    assert additions == [Decimal("50.5"), 0, Decimal("0.33")]
    assert out_of_tolerance(lines, additions) == []


def test_kettle_too_small_is_told_with_the_weight_it_would_have_to_hold() -> None:
    lines = [line("oil", 80, 800), line("wax", 20, 300)]
    with pytest.raises(RuleError) as caught:
        least_addition(lines, 1200)
    assert str(caught.value) == (
        "The kettle would have to hold 1\u202f471\u202fg, and it holds 1\u202f200\u202fg. "
        "Split off part of the melt first."
    )


def test_stock_too_small_is_told_with_what_is_short() -> None:
    lines = [line("oil", 80, 800, stock_g=Decimal(50)), line("wax", 20, 230)]
    with pytest.raises(RuleError) as caught:
        least_addition(lines, 5000)
    assert str(caught.value) == (
        "There is not enough in stock to rebalance: oil (47.451\u202fg short)."
    )


def test_material_outside_the_formula_cannot_be_rebalanced_away() -> None:
    with pytest.raises(RuleError, match="clove is in the kettle and not in the formula"):
        least_addition([line("oil", 100, 800), line("clove", 0, 3)], 5000)


def test_scale_too_coarse_for_a_tight_line_is_told() -> None:
    tight = {"tolerance": Fraction(1, 10_000), "division_g": Decimal(1)}
    lines = [line("oil", "99.5", 100, **tight), line("mint", "0.5", "0.6", **tight)]
    with pytest.raises(RuleError, match="Use a finer scale for the small lines"):
        weighable_addition(lines, 500)


def test_scales_that_do_not_fit_each_other_are_refused() -> None:
    lines = [line("oil", 80, 800), line("wax", 20, 230, division_g=Decimal("0.2"))]
    with pytest.raises(RuleError, match="whole multiples of the finest"):
        weighable_addition(lines, 5000)


@pytest.mark.parametrize(
    ("lines", "sentence"),
    [
        ([line("oil", 80, 1)], "do not add up to 100 %"),
        ([line("oil", 100, -1)], "cannot be below zero"),
        ([line("oil", 100, 1, tolerance=Fraction(-1))], "cannot be below zero"),
        ([line("oil", 100, 1, stock_g=-1)], "stock to add cannot be below zero"),
    ],
)
def test_lines_that_make_no_formula_are_refused(lines: list[KettleLine], sentence: str) -> None:
    with pytest.raises(RuleError, match=sentence):
        least_addition(lines, 100)


def test_splitting_off_makes_room_for_the_addition() -> None:
    lines = [line("oil", 80, 800), line("wax", 20, 300)]
    keep = share_to_keep(lines, 1000)
    kept = [replace(li, in_kettle_g=keep * li.weight_g) for li in lines]

    assert keep == Fraction(17, 25)
    assert sum(shares_with(kept, least_addition(kept, 1000))) == 1
    with pytest.raises(RuleError, match="The kettle would have to hold"):
        least_addition(lines, 1000)


def test_splitting_off_takes_short_stock_into_account() -> None:
    lines = [line("oil", 80, 800, stock_g=Decimal(50)), line("wax", 20, 230)]
    keep = share_to_keep(lines, 5000)
    kept = [replace(li, in_kettle_g=keep * li.weight_g) for li in lines]

    assert least_addition(kept, 5000)[0] == 50
    assert share_to_keep([line("oil", 80, 80), line("wax", 20, 20)], 5000) == 1
    with pytest.raises(RuleError, match="nothing in the kettle"):
        share_to_keep([line("oil", 100, 0)], 5000)


def test_shares_of_an_empty_kettle_are_refused() -> None:
    with pytest.raises(RuleError, match="nothing in the kettle"):
        shares_with([line("oil", 100, 0)], [0])


@st.composite
def kettles(draw: st.DrawFn) -> list[KettleLine]:
    count = draw(st.integers(1, 7))
    parts = draw(st.lists(st.integers(1, 60), min_size=count, max_size=count))
    tolerances = draw(
        st.lists(st.sampled_from([0, 1, 2, 5, 10, 30]), min_size=count, max_size=count)
    )
    weights = draw(st.lists(st.integers(0, 900), min_size=count, max_size=count))
    stocks = draw(st.lists(st.none() | st.integers(0, 800), min_size=count, max_size=count))
    return [
        KettleLine(f"L{i}", Fraction(100 * part, sum(parts)), Fraction(t, 100), w, s)
        for i, (part, t, w, s) in enumerate(zip(parts, tolerances, weights, stocks, strict=True))
    ]


def programme(lines: list[KettleLine], capacity_g: int) -> Any:
    """The same question put to SciPy: minimise the sum of the additions."""
    count, in_kettle = len(lines), float(sum(li.weight_g for li in lines))
    rows, limits = [[1.0] * count], [capacity_g - in_kettle]
    for place, li in enumerate(lines):
        own = [float(place == other) for other in range(count)]
        rows.append([float(li.least_share) - mine for mine in own])
        limits.append(float(li.weight_g) - float(li.least_share) * in_kettle)
        rows.append([mine - float(li.most_share) for mine in own])
        limits.append(float(li.most_share) * in_kettle - float(li.weight_g))
    bounds = [(0, None if li.stock_g is None else float(li.stock_g)) for li in lines]
    return linprog([1.0] * count, A_ub=rows, b_ub=limits, bounds=bounds, method="highs")


@settings(max_examples=200)
@given(kettles(), st.integers(1, 9000))
def test_least_addition_agrees_with_linear_programming(
    lines: list[KettleLine], capacity_g: int
) -> None:
    wanted = programme(lines, capacity_g)
    try:
        additions = least_addition(lines, capacity_g)
    except RuleError:
        assert wanted.status == 2
        return

    assert wanted.status == 0
    assert float(sum(additions)) == pytest.approx(wanted.fun, abs=1e-5)
    assert min(additions) >= 0
    assert not any(additions) or out_of_tolerance(lines, additions) == []
    assert all(
        li.stock_g is None or a <= li.stock_g for li, a in zip(lines, additions, strict=True)
    )


@settings(max_examples=100)
@given(kettles(), st.integers(1, 9000))
def test_weighable_addition_keeps_every_promise(lines: list[KettleLine], capacity_g: int) -> None:
    try:
        additions = weighable_addition(lines, capacity_g)
    except RuleError as refusal:
        sentence = str(refusal)
        obstacles = ("would have to hold", "not enough in stock", "Use a finer scale")
        assert sum(words in sentence for words in obstacles) == 1
        return

    assert all(a >= 0 and a % Decimal("0.5") == 0 for a in additions)
    assert all(
        li.stock_g is None or a <= li.stock_g for li, a in zip(lines, additions, strict=True)
    )
    assert sum(li.weight_g for li in lines) + Fraction(sum(additions)) <= capacity_g
    assert not sum(li.weight_g for li in lines) or out_of_tolerance(lines, additions) == []


@settings(max_examples=30)
@given(st.lists(st.integers(0, 6), min_size=2, max_size=3), st.integers(6, 30))
def test_weighable_addition_is_the_least_of_all_that_could_be_weighed(
    weights: list[int], capacity_g: int
) -> None:
    shares = [Fraction(100, len(weights))] * len(weights)
    lines = [
        KettleLine(f"L{i}", share, Fraction(1, 5), weight, None, Decimal(1))
        for i, (share, weight) in enumerate(zip(shares, weights, strict=True))
    ]
    in_kettle = sum(weights)
    if not in_kettle:
        return

    def fits(additions: list[int]) -> bool:
        return in_kettle + sum(additions) <= capacity_g and not out_of_tolerance(lines, additions)

    every = [[a, b] for a in range(25) for b in range(25)]
    if len(weights) == 3:
        every = [[*pair, c] for pair in every if sum(pair) <= 24 for c in range(25)]
    least = min((sum(additions) for additions in every if fits(additions)), default=None)
    try:
        found = int(sum(weighable_addition(lines, capacity_g)))
    except RuleError:
        assert least is None
        return

    assert found == least
