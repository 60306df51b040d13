"""Net contents: the printed examples of 21 CFR 701.13, and never more than is inside."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, reject
from hypothesis import strategies as st

from workshop.rules.errors import RuleError
from workshop.rules.labels.net_contents import (
    cylinder_panel_sq_in,
    lid_panel_sq_in,
    may_be_left_off_eu,
    net_weight_eu,
    net_weight_us,
    quantity_tested_g,
    rectangle_panel_sq_in,
    smallest_ingredient_type_in,
    smallest_type_eu_mm,
    smallest_type_us,
    stands_low_enough,
)
from workshop.rules.quantities.units import grams_to_ounces

INCH_MM = Decimal("25.4")


@pytest.mark.parametrize(
    ("grams", "statement"),
    [
        # Grams over 28.349 523 125 (NIST SP 811), cut after the second decimal.
        ("60", "Net wt. 2.11 oz (60 g)"),
        ("15", "Net wt. 0.52 oz (15 g)"),
        ("30", "Net wt. 1.05 oz (30 g)"),  # 1.058 oz: 1.06 would claim more than is inside
        ("31", "Net wt. 1.09 oz (31 g)"),
        ("50", "Net wt. 1.76 oz (50 g)"),
        ("100", "Net wt. 3.52 oz (100 g)"),
        ("110", "Net wt. 3.88 oz (110 g)"),
        ("113", "Net wt. 3.98 oz (113 g)"),
        ("4.25", "Net wt. 0.14 oz (4.25 g)"),
        ("14.175", "Net wt. 0.5 oz (14.1 g)"),
        ("340.195", "Net wt. 12 oz (340 g)"),  # 701.13(m): 3/4 lb is "12 oz."
        ("680.389", "Net wt. 24 oz (1 lb 8 oz) 680 g"),  # 701.13(m): 1 1/2 lb
        ("500", "Net wt. 17.63 oz (1 lb 1.63 oz) 500 g"),
        ("453.593", "Net wt. 16 oz (1 lb) 453 g"),
        ("453.592", "Net wt. 15.99 oz (453 g)"),
        ("1250", "Net wt. 44.09 oz (2 lb 12.09 oz) 1.25 kg"),
        # 701.13(k): ounces up to 4 lb, pounds from just there on; 64 oz are 1814.369 48 g.
        ("1814.36948", "Net wt. 4 lb (1.81 kg)"),
        ("1814.36947", "Net wt. 63.99 oz (3 lb 15.99 oz) 1.81 kg"),
        ("2000", "Net wt. 4.4 lb (2 kg)"),
        ("0.5", "Net wt. 0.01 oz (0.5 g)"),
        ("999.99", "Net wt. 35.27 oz (2 lb 3.27 oz) 999 g"),
        ("1000", "Net wt. 35.27 oz (2 lb 3.27 oz) 1 kg"),
        ("10000000", "Net wt. 22046.22 lb (10000 kg)"),
    ],
)
def test_us_statement_follows_the_published_forms(grams: str, statement: str) -> None:
    assert net_weight_us(Decimal(grams)).text == statement


@pytest.mark.parametrize(
    ("grams", "decimals", "statement"),
    [
        ("60", 2, "Net wt. 2.11 oz (60 g)"),
        ("60", 1, "Net wt. 2.1 oz (60 g)"),
        ("57", 0, "Net wt. 2 oz (57 g)"),
        ("2270", 0, "Net wt. 5 lb (2.27 kg)"),
    ],
)
def test_us_statement_takes_a_wanted_number_of_decimals(
    grams: str, decimals: int, statement: str
) -> None:
    assert net_weight_us(Decimal(grams), ounce_decimals=decimals).text == statement


@pytest.mark.parametrize(
    ("grams", "decimals"), [("30", 1), ("31", 0), ("110", 1), ("113", 0), ("2000", 0), ("10", 0)]
)
def test_decimals_that_lose_more_than_a_hundredth_are_refused(grams: str, decimals: int) -> None:
    with pytest.raises(RuleError, match="more than a hundredth too little"):
        net_weight_us(Decimal(grams), ounce_decimals=decimals)


@pytest.mark.parametrize("decimals", [3, -1])
def test_decimals_of_an_ounce_that_the_rule_does_not_know_are_refused(decimals: int) -> None:
    # 21 CFR 701.13(d)
    with pytest.raises(RuleError, match="at most two decimals"):
        net_weight_us(Decimal(30), ounce_decimals=decimals)


@given(st.decimals(Decimal(3), 20_000, places=3), st.sampled_from([0, 1, 2]))
def test_stated_ounces_are_never_above_and_hardly_below_what_is_inside(
    net_g: Decimal, decimals: int
) -> None:
    try:
        stated = net_weight_us(net_g, ounce_decimals=decimals).ounces
    except RuleError:
        reject()

    exact = grams_to_ounces(net_g)
    last_digit = Decimal("0.16") if exact >= 64 else Decimal("0.01")
    assert exact - max(Fraction(last_digit), exact / 100) <= stated <= exact


@pytest.mark.parametrize("grams", ["0", "-1", "0.001", "0.2", "10000001"])
def test_pack_that_holds_nothing_to_state_is_refused(grams: str) -> None:
    with pytest.raises(RuleError):
        net_weight_us(Decimal(grams))


@given(st.decimals(Decimal("0.3"), 20_000, places=3))
def test_statement_never_promises_more_than_is_inside(net_g: Decimal) -> None:
    statement = net_weight_us(net_g)

    assert statement.tested_g <= net_g
    assert statement.grams * Decimal("1.01") > net_g - Decimal("0.01")
    assert statement.ounces <= grams_to_ounces(net_g)


@pytest.mark.parametrize(
    ("ounces", "grams", "tested"),
    [  # NIST Handbook 133 (2026), 2.3.3; the first is printed there
        ("16", "454", "454"),
        ("0.15", "4.25", "4.25242846875"),
        ("0.5", "14", "14.1747615625"),
        ("1", "28", "28.349523125"),
        ("1.05", "30", "30"),
        ("1.06", "30", "30.0504945125"),
        ("2", "57", "57"),
        ("8", "227", "227"),
    ],
)
def test_larger_of_the_two_promises_is_tested(ounces: str, grams: str, tested: str) -> None:
    assert quantity_tested_g(Decimal(ounces), Decimal(grams)) == Fraction(tested)


def test_eu_content_is_metric_with_the_mark_from_five_grams_to_ten_kilograms() -> None:
    assert net_weight_eu(Decimal(60)) == "60 g"
    assert net_weight_eu(Decimal("62.45")) == "62.4 g"
    assert net_weight_eu(Decimal(1500)) == "1.5 kg"
    assert net_weight_eu(Decimal(5), e_mark=True) == "5 g \u212e"
    for outside in (Decimal("4.99"), Decimal(10_100)):
        with pytest.raises(RuleError, match="from 5 g to 10 kg"):
            net_weight_eu(outside, e_mark=True)


def test_eu_content_under_five_grams_may_be_left_off() -> None:
    # Regulation (EC) 1223/2009, article 19(1)(b)
    assert may_be_left_off_eu(Decimal("4.25"))
    assert not may_be_left_off_eu(Decimal(5))


@pytest.mark.parametrize(
    ("area", "inches", "mm"),
    [  # 21 CFR 701.13(i)
        ("5", "1/16", "1.6"),
        ("5.01", "1/8", "3.2"),
        ("25", "1/8", "3.2"),
        ("25.01", "3/16", "4.8"),
        ("100", "3/16", "4.8"),
        ("100.01", "1/4", "6.4"),
        ("400", "1/4", "6.4"),
        ("400.01", "1/2", "12.7"),
    ],
)
def test_type_grows_with_the_panel_as_published(area: str, inches: str, mm: str) -> None:
    size = smallest_type_us(Decimal(area))

    assert (size.inches, size.mm) == (Fraction(inches), Decimal(mm))
    assert Fraction(size.mm) >= size.inches * Fraction(INCH_MM)


def test_moulded_type_is_a_sixteenth_of_an_inch_higher() -> None:
    assert smallest_type_us(5, lettering="moulded").inches == Fraction(1, 8)


def test_panel_without_area_is_refused() -> None:
    with pytest.raises(RuleError):
        smallest_type_us(0)


def test_panel_areas_match_the_worked_figures() -> None:
    # Computed from 21 CFR 701.10: tube 2.6 x 0.65 in, lid 2 in, jar 2.5 x 2.5 in.
    tube = cylinder_panel_sq_in(Decimal("2.6") * INCH_MM, Decimal("0.65") * INCH_MM)
    jar = cylinder_panel_sq_in(Decimal("2.5") * INCH_MM, Decimal("2.5") * INCH_MM)

    assert [round(float(area), 2) for area in (tube, lid_panel_sq_in(2 * INCH_MM), jar)] == [
        2.12,
        3.14,
        7.85,
    ]
    assert smallest_type_us(jar).inches == Fraction(1, 8)
    assert rectangle_panel_sq_in(3 * INCH_MM, 2 * INCH_MM) == 6


def test_bottom_thirty_per_cent_rule_is_waived_on_a_small_panel() -> None:
    assert not smallest_type_us(5).in_bottom_30_percent
    assert smallest_type_us(Decimal("5.01")).in_bottom_30_percent
    assert stands_low_enough(5, 40, 40)
    assert stands_low_enough(8, 40, 12)
    assert not stands_low_enough(8, 40, Decimal("12.1"))


def test_ingredient_letters_may_be_smaller_under_twelve_square_inches() -> None:
    # 21 CFR 701.3(p)
    assert smallest_ingredient_type_in(Decimal("11.99")) == Fraction(1, 32)
    assert smallest_ingredient_type_in(12) == Fraction(1, 16)


@pytest.mark.parametrize(
    ("nominal", "mm"), [("50", 2), ("50.1", 3), ("200", 3), ("201", 4), ("1000", 4), ("1001", 6)]
)
def test_eu_figures_grow_with_the_content(nominal: str, mm: int) -> None:
    # Directive 76/211/EEC, Annex I, 3.1, as carried by the French order of 20 October 1978,
    # article 2.1.
    assert smallest_type_eu_mm(Decimal(nominal)) == mm
