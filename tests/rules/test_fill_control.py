"""Fill control: published limits, worked lots, and SciPy for the statistics."""

import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from workshop.rules.errors import RuleError
from workshop.rules.fill.fill_control import (
    CORRECTION,
    MAV_BANDS,
    Z_995,
    check_eu,
    check_us,
    largest_shortage_us_g,
    limits_eu_g,
    net_from_gross,
    pour_target_g,
    sampling_plan_us,
    scale_will_do,
    tare_is_steady,
    tolerable_shortage_eu_g,
)
from workshop.rules.quantities.units import POUND_G


def packs(label: int, errors: str) -> list[Decimal]:
    return [label + Decimal(error) for error in errors.split()]


@pytest.mark.parametrize(
    ("lot", "size", "allowed"),
    [(1, 1, 0), (2, 2, 0), (11, 11, 0), (12, 12, 0), (250, 12, 0), (251, 24, 0), (3200, 24, 0),
     (3201, 48, 1)],
)  # fmt: skip
def test_sampling_plan_grows_with_the_lot(lot: int, size: int, allowed: int) -> None:
    # NIST Handbook 133, table 2-1 (from memory)
    plan = sampling_plan_us(lot)

    assert (plan.sample_size, plan.allowed_short) == (size, allowed)


@pytest.mark.parametrize("size", sorted(CORRECTION))
def test_correction_factor_is_the_t_quantile_over_the_root(size: int) -> None:
    exact = stats.t.ppf(0.975, size - 1) / math.sqrt(size)

    assert float(CORRECTION[size]) == pytest.approx(exact, abs=0.0011)


@pytest.mark.parametrize(
    ("label", "mav"),
    [  # NIST Handbook 133: 113 g and 907 g printed; the others from memory of table 2-5
        ("113", "7.2"), ("907", "31.7"), ("30", "3"), ("15", "1.5"), ("4.25", "0.425"),
        ("36.28", "3.628"), ("36.29", "3.6"), ("60", "5.4"), ("454", "19.9"), ("5300", "99.7"),
    ],
)  # fmt: skip
def test_largest_shortage_follows_the_table(label: str, mav: str) -> None:
    assert largest_shortage_us_g(Decimal(label)) == Fraction(mav)


def test_largest_shortage_never_shrinks_by_more_than_the_first_step() -> None:
    grams_in_order = [mav for _, mav in MAV_BANDS]

    assert grams_in_order == sorted(grams_in_order)
    for label in (Decimal(0), Decimal(6000)):
        with pytest.raises(RuleError):
            largest_shortage_us_g(label)


# Worked lots of 12 packs labelled 30 g, computed from NIST Handbook 133, 2.3.
WORKED = [
    ("+.4 -.3 +.1 -.6 +.2 -.5 0 -.2 +.3 -.4 -.1 -.1", "-0.1", "0.31623", ()),
    (
        "-.4 -.3 -.2 -.6 -.1 -.5 0 -.2 -.3 -.4 -.1 -.5",
        "-0.3",
        "0.18586",
        ("On average the packs are 0.3\u202fg short, which is more than chance explains.",),
    ),
    (
        "+.5 +.6 +.4 +.7 +.5 +.3 +.6 +.4 +.5 +.8 -3.2 +.4",
        None,
        "1.08247",
        ("1 pack is short by more than 3\u202fg, and 0 may be.",),
    ),
]


@pytest.mark.parametrize(("errors", "mean", "deviation", "problems"), WORKED)
def test_worked_lots_pass_or_fail_as_the_handbook_says(
    errors: str, mean: str | None, deviation: str, problems: tuple[str, ...]
) -> None:
    verdict = check_us(30, packs(30, errors), 250)

    assert mean is None or verdict.mean_g == 30 + Fraction(mean)
    assert round(verdict.deviation_g, 5) == Decimal(deviation)
    assert verdict.problems == problems
    assert verdict.passes is (not problems)


def test_single_pack_is_held_against_the_largest_shortage_only() -> None:
    assert check_us(30, [Decimal("27")], 1).passes
    assert not check_us(30, [Decimal("26.99")], 1).passes


def test_wrong_number_of_packs_is_refused() -> None:
    with pytest.raises(RuleError) as caught:
        check_us(30, [30] * 11, 100)
    assert str(caught.value) == "A lot of 100 packs asks for 12 to be weighed, and there are 11."
    with pytest.raises(RuleError, match="at least one pack"):
        sampling_plan_us(0)


@pytest.mark.parametrize(
    ("nominal", "tne", "t1", "t2"),
    [  # computed from Directive 76/211/EEC, Annex I, 2.4 (read in FPackV § 9(3))
        ("5", "0.5", "4.5", "4.0"), ("10", "0.9", "9.1", "8.2"), ("15", "1.4", "13.6", "12.2"),
        ("30", "2.7", "27.3", "24.6"), ("50", "4.5", "45.5", "41.0"), ("60", "4.5", "55.5", "51.0"),
        ("100", "4.5", "95.5", "91.0"), ("120", "5.4", "114.6", "109.2"),
        ("125", "5.7", "119.3", "113.6"), ("150", "6.8", "143.2", "136.4"),
        ("200", "9.0", "191.0", "182.0"), ("250", "9.0", "241.0", "232.0"),
        ("300", "9.0", "291", "282"), ("400", "12.0", "388.0", "376.0"),
        ("500", "15.0", "485.0", "470.0"), ("1000", "15.0", "985.0", "970.0"),
        ("1500", "22.5", "1477.5", "1455.0"),
    ],
)  # fmt: skip
def test_tolerable_shortage_follows_the_directive(nominal: str, tne: str, t1: str, t2: str) -> None:
    assert tolerable_shortage_eu_g(Decimal(nominal)) == Decimal(tne)
    assert limits_eu_g(Decimal(nominal)) == (Decimal(t1), Decimal(t2))


@pytest.mark.parametrize("nominal", ["4.25", "10000.1"])
def test_content_outside_the_directive_is_refused(nominal: str) -> None:
    with pytest.raises(RuleError, match="covers 5 g to 10 kg"):
        check_eu(Decimal(nominal), [5])


def test_three_rules_of_the_directive_are_told_one_by_one() -> None:
    assert check_eu(Decimal(30), [30, 31, Decimal("29.5")]).passes
    assert check_eu(Decimal(30), [29, Decimal("30.9")]).problems == (
        "On average the packs are 0.05\u202fg short.",
    )
    assert check_eu(Decimal(30), [27, 34]).problems == (
        "1 pack holds less than 27.3\u202fg (T1), and 0 may.",
    )
    assert check_eu(Decimal(30), [*([31] * 78), 27, 27]).problems == ()
    assert check_eu(Decimal(30), [*([31] * 78), 27, 27], share_below=Fraction(2, 100)).problems == (
        "2 packs hold less than 27.3\u202fg (T1), and 1 may.",
    )
    assert check_eu(Decimal(30), [*([31] * 99), Decimal("24.5")]).problems == (
        "1 pack holds less than 24.6\u202fg (T2), and none may.",
    )


def test_net_contents_come_from_gross_and_the_average_tare() -> None:
    assert net_from_gross([44, 45], [14, Decimal("14.5")]) == [Fraction("29.75"), Fraction("30.75")]
    with pytest.raises(RuleError, match="Weigh at least one"):
        net_from_gross([44], [])


def test_uneven_containers_are_noticed() -> None:
    assert tare_is_steady([14, Decimal("14.5")], 3)
    assert not tare_is_steady([14, Decimal("14.6")], 3)


def test_scale_must_read_to_a_sixth_of_the_largest_shortage() -> None:
    # NIST Handbook 133 (2026), 2.2: 113 g, MAV 7.2 g, 1.2 g
    assert scale_will_do(113, Decimal("1.2"))
    assert not scale_will_do(113, Decimal("1.3"))
    assert scale_will_do(30, Decimal("0.5"))
    assert not scale_will_do(Decimal("4.25"), Decimal("0.1"))


@given(st.decimals(Decimal("0.01"), 2, places=3), st.sampled_from([2, 12, 24]))
def test_pour_target_makes_995_in_a_thousand_conform(deviation: Decimal, size: int) -> None:
    target = pour_target_g(30, 3, deviation, sample_size=size, division_g=Decimal("0.1"))
    spread = float(deviation)

    assert stats.norm.sf(30, float(target), spread / math.sqrt(size)) >= 0.995 - 1e-6
    assert stats.norm.sf(27, float(target), spread) >= 0.995 - 1e-6
    lower = float(target) - 0.1001
    average_conforms = stats.norm.sf(30, lower, spread / math.sqrt(size))
    assert min(average_conforms, stats.norm.sf(27, lower, spread)) < 0.995


def test_pour_without_any_spread_is_set_to_the_promise() -> None:
    assert pour_target_g(30, 3, 0, sample_size=12, division_g=Decimal("0.1")) == 30


def test_pour_target_of_nothing_sensible_is_refused() -> None:
    with pytest.raises(RuleError):
        pour_target_g(30, 3, -1, sample_size=12, division_g=Decimal("0.1"))


def test_normal_quantile_is_the_one_of_the_tables() -> None:
    assert float(Z_995) == pytest.approx(stats.norm.ppf(0.995), abs=1e-10)


@given(st.integers(1, 5300))
def test_shortage_is_taken_from_the_band_of_the_label(label: int) -> None:
    pounds = Fraction(label) / POUND_G
    bands = [mav for up_to, mav in MAV_BANDS if pounds <= Fraction(up_to)]

    assert largest_shortage_us_g(label) == (
        Fraction(label, 10) if pounds <= Fraction("0.08") else Fraction(bands[0])
    )
