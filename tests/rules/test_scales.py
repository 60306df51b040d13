"""Weighing: published error bands and smallest loads, and the smallest batch by brute force."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workshop.rules.errors import RuleError
from workshop.rules.quantities.scales import (
    AccuracyClass,
    ScaleLimits,
    choose_scale,
    permissible_error_g,
    scale_problems,
    smallest_batch_g,
    smallest_load_for_share_g,
    smallest_load_g,
    standard_uncertainty_g,
    weigh_check,
)
from workshop.rules.quantities.units import round_to

HALF = Decimal("0.5")
BENCH = ScaleLimits("the bench scale", HALF, HALF, "III", Decimal(6000))
FINE = ScaleLimits("the fine scale", Decimal("0.01"), Decimal("0.01"), "II", Decimal(600))


def scale(
    division: str, accuracy_class: AccuracyClass, capacity: int = 10**7, *, e: str = ""
) -> ScaleLimits:
    return ScaleLimits(
        "it", Decimal(division), Decimal(e or division), accuracy_class, Decimal(capacity)
    )


@pytest.mark.parametrize(
    ("tested", "load", "error"),
    [
        (scale("0.1", "II"), 1500, "0.1"),  # printed example: 15 000 divisions, class II
        (scale("1", "III"), 1500, "1"),  # NIST Handbook 133, table 2-2
        (scale("1", "III"), 500, "0.5"),
        (scale("1", "III"), 501, "1"),
        (scale("1", "III"), 2000, "1"),
        (scale("1", "III"), 2001, "1.5"),
        (scale("1", "III"), 4000, "1.5"),
        (scale("1", "III"), 4001, "2.5"),
        (scale("1", "III"), 5000, "2.5"),
        (scale("0.1", "II"), 500, "0.05"),
        (scale("0.1", "II"), "2000.1", "0.15"),
        (scale("1", "III"), 0, "0.5"),
    ],
)
def test_permissible_error_follows_handbook_44(
    tested: ScaleLimits, load: int | str, error: str
) -> None:
    found = permissible_error_g(tested, Decimal(load), occasion="initial", standard="HB44")

    assert found == Fraction(error)


@pytest.mark.parametrize(
    ("accuracy_class", "load", "error"),
    [  # OIML R 76-1:2006, table 6 (from memory), e = 1 g
        ("I", 50_000, "0.5"), ("I", 200_000, "1"), ("I", 200_001, "1.5"),
        ("II", 5_000, "0.5"), ("II", 20_000, "1"), ("II", 20_001, "1.5"),
        ("III", 500, "0.5"), ("III", 2_000, "1"), ("III", 5_000, "1.5"),
        ("IIII", 50, "0.5"), ("IIII", 200, "1"), ("IIII", 201, "1.5"),
    ],
)  # fmt: skip
def test_permissible_error_follows_oiml_and_doubles_in_service(
    accuracy_class: AccuracyClass, load: int, error: str
) -> None:
    tested = scale("1", accuracy_class)

    assert permissible_error_g(tested, load, occasion="initial") == Fraction(error)
    assert permissible_error_g(tested, load) == 2 * Fraction(error)


def test_load_below_zero_is_refused() -> None:
    with pytest.raises(RuleError, match="cannot be below zero"):
        permissible_error_g(BENCH, -1)


@pytest.mark.parametrize(
    ("tested", "least"),
    [  # OIML R 76-1:2006, table 3 (from memory); Handbook 44, table 8 (from memory)
        (scale("0.5", "III"), "10"),
        (scale("0.1", "III"), "2"),
        (scale("0.01", "II"), "0.2"),
        (scale("0.05", "II"), "1"),
        (scale("0.1", "II"), "5"),
        (scale("0.001", "I"), "0.1"),
        (scale("5", "IIII"), "50"),
    ],
)
def test_smallest_load_follows_the_class(tested: ScaleLimits, least: str) -> None:
    assert smallest_load_g(tested) == Decimal(least)


@pytest.mark.parametrize(
    ("division", "share", "least"),
    [  # USP <41>, with 0.41 d as the least deviation: 820 d, 164 d, 82 d
        ("0.5", "0.001", "410"),
        ("0.1", "0.001", "82"),
        ("0.01", "0.001", "8.2"),
        ("0.1", "0.005", "16.4"),
        ("0.01", "0.01", "0.82"),
    ],
)
def test_assay_rule_asks_for_820_divisions(division: str, share: str, least: str) -> None:
    assert smallest_load_for_share_g(scale(division, "III"), Decimal(share)) == Decimal(least)


def test_assay_rule_with_a_measured_deviation_gives_the_printed_example() -> None:
    # USP <41>: s = 0.000 15 g -> 0.300 00 g
    found = smallest_load_for_share_g(scale("0.0001", "I"), repeatability_g=Decimal("0.00015"))

    assert found == Decimal("0.3")
    with pytest.raises(RuleError):
        smallest_load_for_share_g(BENCH, 0)


def test_uncertainty_sums_squares_of_evenly_spread_errors() -> None:
    # By hand: (0.25² + 0.25² + 0.5²) / 3 = 0.125; its root is 0.353 553 39...
    assert standard_uncertainty_g(BENCH, 100) == Decimal("0.353554")


@given(st.integers(0, 12_000), st.sampled_from([BENCH, FINE]))
def test_uncertainty_is_rounded_up_by_less_than_a_millionth(
    steps: int, tested: ScaleLimits
) -> None:
    load = min(steps * HALF, tested.capacity_g)
    exact = (Fraction(tested.division_g) ** 2 / 2 + permissible_error_g(tested, load) ** 2) / 3
    found = Fraction(standard_uncertainty_g(tested, load))

    assert found**2 >= exact
    assert (found - Fraction(1, 10**6)) ** 2 < exact


def test_four_grams_of_oil_on_a_half_gram_scale_are_called_out() -> None:
    # A trade fact, common practice, no source: a line of 3.6 g, a scale that reads to half a gram.
    check = weigh_check(BENCH, Decimal("3.6"), Decimal("0.05"))

    assert check.verdict == "too small"
    assert check.sentence == (
        "3.6\u202fg is too little for the bench scale (from 10.0\u202fg) "
        "and may be up to 16.7 % off."
    )
    assert choose_scale([BENCH, FINE], Decimal("3.6"), Decimal("0.06"))[0] is FINE


def test_weighing_is_held_against_the_tolerance() -> None:
    fine = weigh_check(BENCH, Decimal("400.2"), Decimal("0.02"))
    rough = weigh_check(BENCH, Decimal("12.3"), Decimal("0.02"))

    assert (fine.target_g, fine.rounding_error_g, fine.verdict) == (
        Decimal("400.0"),
        Fraction(-1, 5),
        "fine",
    )
    assert fine.expanded_uncertainty_g == 2 * fine.standard_uncertainty_g
    assert (
        fine.sentence == "400.2\u202fg on the bench scale is up to 0.3 % off at worst, within 2 %."
    )
    assert rough.sentence == (
        "12.3\u202fg on the bench scale may be up to 5.7 % off, and the line allows 2 %."
    )


def test_vessel_counts_against_the_capacity() -> None:
    check = weigh_check(BENCH, 5000, Decimal("0.02"), tare_g=Decimal(1001))

    assert check.verdict == "over capacity"
    assert check.sentence == (
        "5\u202f000\u202fg and the vessel are more than the bench scale can carry."
    )
    with pytest.raises(RuleError, match="must be above zero"):
        weigh_check(BENCH, 0, Decimal("0.02"))


def test_scale_that_will_do_is_chosen_before_one_that_only_carries_the_load() -> None:
    assert choose_scale([BENCH, FINE], 2000, Decimal("0.01"))[0] is BENCH
    assert choose_scale([FINE, BENCH], 40, Decimal("0.01"))[0] is FINE
    assert choose_scale([FINE], 2000, Decimal("0.01"))[1].verdict == "over capacity"
    with pytest.raises(RuleError, match="no scale to choose from"):
        choose_scale([], 1, Decimal("0.01"))


def test_soft_balm_needs_a_bigger_batch_on_a_half_gram_scale() -> None:
    # Lines of 37.3, 5.2 and 3.6 g; the last is cured by a batch in which it weighs 15 g.
    lines = [
        (Fraction(g) * 100 / Fraction("46.1"), Fraction(1, 20)) for g in ("37.3", "5.2", "3.6")
    ]

    assert smallest_batch_g(lines, BENCH) == Decimal("192.5")
    assert smallest_batch_g(lines, FINE) == Decimal("3.85")
    assert smallest_batch_g([*lines, (Fraction(1, 1000), Fraction(1, 20))], BENCH) is None
    assert smallest_batch_g(lines, BENCH, at_most_g=Decimal(100)) is None
    assert smallest_batch_g([(100, 0)], BENCH) is None
    with pytest.raises(RuleError):
        smallest_batch_g([(0, Fraction(1, 20))], BENCH)


small = scale("1", "III", 3000)


@settings(max_examples=12)
@given(
    st.lists(st.integers(1, 20), min_size=1, max_size=4),
    st.sampled_from(["0.002", "0.003", "0.004", "0.01", "0.05"]),
)
def test_smallest_batch_is_the_first_of_all_in_steps_of_the_scale(
    parts: list[int], tolerance: str
) -> None:
    lines = [(Fraction(100 * part, sum(parts)), Fraction(tolerance)) for part in parts]

    def will_do(batch: int) -> bool:
        loads = [batch * share / 100 for share, _ in lines]
        return all(
            20 + HALF <= load <= 3000 - HALF
            and Fraction(1, 2) + permissible_error_g(small, load) <= Fraction(tolerance) * load
            for load in loads
        )

    first = next((batch for batch in range(1, 3001) if will_do(batch)), None)

    assert smallest_batch_g(lines, small) == first


@given(st.fractions(11, 5000), st.fractions(0, Fraction(1, 5)))
def test_worst_case_holds_the_rounding_and_the_scale(wanted: Fraction, tolerance: Fraction) -> None:
    check = weigh_check(BENCH, wanted, tolerance)

    assert check.target_g == round_to(wanted, HALF)
    assert abs(check.rounding_error_g) <= Fraction(1, 4)
    assert (check.verdict == "fine") == (check.relative_error <= tolerance)


def test_figures_of_a_scale_that_do_not_fit_are_told() -> None:
    # NIST Handbook 133, table 2-1: 5 000 g by 0.1 g is 50 000 divisions, class II
    assert scale_problems(scale("0.1", "II", 5000)) == []
    assert scale_problems(FINE) == []
    assert scale_problems(scale("0.1", "III", 5000)) == [
        "A class III scale has 100 to 10000 divisions, and 5000 g in steps of 0.1 g are 50000."
    ]
    assert scale_problems(scale("0.5", "III", 5000, e="0.1"))[0] == (
        "The verification interval e cannot be finer than the division d."
    )
    assert scale_problems(scale("0.001", "I", 10)) == [
        "A class I scale has 50000 or more divisions, and 10 g in steps of 0.001 g are 10000."
    ]
    assert scale_problems(scale("0", "III")) == [
        "The division, the verification interval and the capacity must be above zero."
    ]
