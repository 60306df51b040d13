"""Net contents by volume: the example of 21 CFR 701.13(m), and never more than is inside."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.errors import RuleError
from workshop.rules.labels.net_volume import (
    mixture_density,
    net_volume_eu,
    net_volume_us,
    volume_of,
    weight_of,
)

# NIST Handbook 44: a US fluid ounce is 29.573 529 562 5 mL, a gallon 3 785.411 784 mL.
OUNCE_ML = Fraction("29.5735295625")
OIL = Decimal("0.92")


@pytest.mark.parametrize(
    ("ml", "statement"),
    [
        ("30", "1.01 fl oz (30 mL)"),
        ("118.5", "4 fl oz (118 mL)"),  # 4.007: no zero that says nothing
        ("250", "8.45 fl oz (250 mL)"),
        ("473.176473", "16 fl oz (1 pt) 473 mL"),
        # 21 CFR 701.13(m): one quart is told as 32 fluid ounces and, in brackets, one quart.
        ("946.352946", "32 fl oz (1 qt) 946 mL"),
        ("1500", "50.72 fl oz (1 qt 1 pt 2.72 fl oz) 1.5 L"),
        ("3785.411784", "1 gal (3.78 L)"),
    ],
)
def test_volume_is_told_in_both_systems(ml: str, statement: str) -> None:
    assert net_volume_us(Decimal(ml), OIL).text == statement


@pytest.mark.parametrize(
    ("ml", "decimals", "sentence"),
    [
        ("0", 2, "above zero"),
        ("0.2", 2, "too little"),
        ("0.001", 2, "too little"),
        ("20000000", 2, "ten cubic"),
        ("50", 0, "more than a hundredth too little"),
        ("50", 3, "at most two decimals"),
    ],
)
def test_volume_that_cannot_be_told_is_refused(ml: str, decimals: int, sentence: str) -> None:
    with pytest.raises(RuleError, match=sentence):
        net_volume_us(Decimal(ml), OIL, ounce_decimals=decimals)


def test_eu_content_is_metric_with_its_mark_from_five_millilitres_to_ten_litres() -> None:
    assert net_volume_eu(Decimal("50.9")) == "50.9 ml"
    assert net_volume_eu(Decimal(5), e_mark=True) == "5 ml ℮"
    assert net_volume_eu(Decimal(10_000), e_mark=True) == "10 L ℮"
    assert net_volume_eu(Decimal(4)) == "4 ml"  # without the mark
    assert [net_volume_eu(Decimal(ml)) for ml in ("999.9", "1000")] == ["999 ml", "1 L"]
    for ml in ("4.9", "10500"):
        with pytest.raises(RuleError, match="from 5 mL to 10 L"):
            net_volume_eu(Decimal(ml), e_mark=True)


@given(
    st.decimals(1, 100_000, places=3),
    st.decimals(Decimal("0.3"), 5, places=4),
    st.sampled_from([1, 2]),
)
def test_neither_system_promises_more_than_is_inside(
    ml: Decimal, density: Decimal, decimals: int
) -> None:
    try:
        said = net_volume_us(ml, density, ounce_decimals=decimals)
    except RuleError:
        return
    inside_g = weight_of(ml, density)
    # The larger promise is what a scale is held to, told to the milligram above.
    assert said.grams <= inside_g
    assert said.tested_g == Fraction(said.grams)
    assert Fraction(volume_of(inside_g, density)) >= Fraction(ml) - Fraction("0.001")


def test_promise_as_weight_is_the_larger_of_the_two() -> None:
    # 8.45 fl oz are 249.896 mL, so the 250 mL bind: at 0.92 g/mL 230 g.
    assert net_volume_us(Decimal(250), OIL).grams == Decimal("230.000")
    # 16 fl oz are 473.176 mL, more than the 473 mL beside them.
    pint = net_volume_us(Decimal("473.2"), OIL)
    assert pint.grams == Decimal("435.323")
    assert Fraction(pint.grams) >= 16 * OUNCE_ML * Fraction(OIL)


def test_density_of_a_mixture_follows_from_volumes_that_add_up() -> None:
    # 60 g at 0.92 and 40 g at 1.26 take 65.217 + 31.746 mL.
    parts = [(60, OIL), (40, Decimal("1.26"))]
    assert mixture_density(parts) == Decimal("1.0313")
    for wrong in ([], [(1, Decimal(0))], [(0, OIL)]):
        with pytest.raises(RuleError, match="above zero"):
            mixture_density(wrong)
    for what in (weight_of, volume_of):
        with pytest.raises(RuleError, match="above zero"):
            what(Decimal(0), OIL)
