"""A soap designed from its fats, against worked lye examples and stoichiometry."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import round_to
from workshop.rules.soap.design import Liquid, SoapDesign, Wanted, cut_weight, design_soap
from workshop.rules.soap.lye import GLYCEROL_MOLAR_G, MOLAR_G, Fat, water_for_strength

# 1 000 g at the middle of CXS 33, CXS 210 and the BP's castor oil; worked with ISO 3657.
FATS = [
    Fat("Olive", 600, 190),
    Fat("Coconut", 300, Decimal("256.5")),
    Fat("Castor", 100, Decimal("181.5")),
]


def designed(superfat: str = "0.05", ratio: Any = 2, **values: Any) -> SoapDesign:
    return design_soap(FATS, Wanted(Decimal(superfat), ratio, **values))


def g(grams: Fraction) -> Decimal:
    return round_to(grams, Decimal("0.01"))


def test_worked_kilogram() -> None:
    made = designed()

    assert (g(made.naoh_g), g(made.water_g), g(made.poured_g)) == (
        Decimal("141.61"), Decimal("283.22"), Decimal("1424.83"),
    )  # fmt: skip
    assert g(made.glycerol_g) == Decimal("108.69")
    assert g(designed("0.08").naoh_g) == Decimal("137.14")
    assert g(designed(naoh_purity=Decimal("0.97")).naoh_weighed_g) == Decimal("145.99")
    assert g(designed(ratio=water_for_strength(Decimal("0.33"))).water_g) == Decimal("287.51")


def test_strength_is_pure_lye_in_lye_and_water() -> None:
    # Two parts of water to one of lye are a third; the strength of 33 % comes back as itself.
    assert designed().strength == Fraction(1, 3)
    assert designed(ratio=water_for_strength(Decimal("0.33"))).strength == Fraction(33, 100)
    assert designed(by_naoh=Decimal("0.6"), koh_purity=Decimal("0.9")).strength == Fraction(1, 3)


@pytest.mark.parametrize(
    "values",
    # Each limit met exactly is within it.
    [
        {"superfat": "0"}, {"superfat": "0.2"}, {"ratio": 1}, {"ratio": 5}, {"by_naoh": 0},
        {"naoh_purity": Decimal("0.5")}, {"koh_purity": Decimal("0.5"), "by_naoh": Decimal("0.5")},
        {"cure_loss": 0}, {"citric_g": 0}, {"fat_after_g": 0},
        {"liquid": Liquid(100, Decimal("0.04"), 0, 50)},
        {"liquid": Liquid(100, Decimal("0.04"), Decimal("0.96"), 400)},
    ],
)  # fmt: skip
def test_soap_at_each_limit_can_be(values: dict[str, Any]) -> None:
    assert designed(**values).poured_g > 1000


@pytest.mark.parametrize(
    ("fats", "sentence"),
    [
        ([], "fats that weigh more than nothing"),
        ([Fat("Olive", 0, 190)], "fats that weigh more than nothing"),
        ([Fat("Olive", 600, 49)], "between 50 and 400"),
        ([Fat("Olive", 600, 401)], "between 50 and 400"),
    ],
)
def test_fats_that_cannot_be_are_refused(fats: list[Fat], sentence: str) -> None:
    with pytest.raises(RuleError, match=sentence):
        design_soap(fats, Wanted(Decimal("0.05"), 2))
    for sv in (50, 400):
        assert design_soap([Fat("a fat", 1, sv)], Wanted(Decimal("0.05"), 2)).fats_g == 1


def test_all_of_the_water_may_come_with_the_liquid_and_leave_in_the_cure() -> None:
    """By hand: 283.22 g of water are in it, whatever brings them."""
    plain = designed()
    made = designed(liquid=Liquid(plain.water_g))

    assert made.water_g == 0
    assert made.poured_g == plain.poured_g
    dry = designed(cure_loss=plain.water_in_it_g / plain.poured_g)
    assert dry.water_left == 0
    assert dry.cured_g == plain.poured_g - plain.water_g


def test_potassium_soap() -> None:
    made = designed(by_naoh=0, koh_purity=Decimal("0.90"))

    assert (g(made.koh_weighed_g), g(made.naoh_g)) == (Decimal("220.72"), Decimal(0))
    assert made.water_g == made.water_in_it_g - (made.koh_weighed_g - made.koh_g)


def test_two_alkalis_share_the_fat() -> None:
    """60 % by sodium, 40 % by potassium hydroxide of 90 %."""
    made = designed(by_naoh=Decimal("0.6"), koh_purity=Decimal("0.9"))

    assert (g(made.naoh_g), g(made.koh_g)) == (Decimal("84.97"), Decimal("79.46"))
    assert g(made.koh_weighed_g) == Decimal("88.29")
    # 0.767 5 g of glycerol a gram of sodium, 0.547 1 of potassium hydroxide.
    assert g(made.glycerol_g) == g(
        made.naoh_g * Fraction("92.094") / (3 * Fraction("39.997"))
        + made.koh_g * Fraction("92.094") / (3 * Fraction("56.106"))
    )


def test_discount_and_fat_after_the_cook_are_two_things() -> None:
    """5 % of lye left out is 5 % of the fat; 50 g on 1 000 g after the cook are 4.76 %."""
    made = designed(fat_after_g=50)

    assert made.superfat == Fraction(5, 100)
    assert round(float(100 * made.after_share), 2) == 4.76


def test_citric_acid_uses_up_three_moles_of_alkali() -> None:
    """192.124 g of it take 3 x 39.997 g of sodium hydroxide, and no glycerol comes of that."""
    plain, sour = designed(), designed(citric_g=Fraction("19.2124"))

    assert sour.naoh_g - plain.naoh_g == 3 * Fraction("3.9997")
    assert sour.glycerol_g == plain.glycerol_g
    assert sour.superfat == plain.superfat


def test_milk_brings_fat_sugar_and_water() -> None:
    """Figures of whole milk, common practice: 3.5 % of fat, 4.8 % of sugar."""
    milk = Liquid(100, Decimal("0.035"), Decimal("0.048"), 225)
    plain, made = designed(), designed(liquid=milk)

    assert made.naoh_g - plain.naoh_g == (
        Fraction("3.5") * 225 / 1000 * Fraction(95, 100) * Fraction("39.997") / Fraction("56.106")
    )
    assert made.water_g + milk.water_g == made.water_in_it_g
    assert milk.sugar_g == Fraction("4.8")


def test_water_left_after_the_cure() -> None:
    """Of 1 424.83 g, 283.22 of it water, at a loss of 12 % 8.95 % of the bar is water."""
    made = designed(cure_loss=Decimal("0.12"))

    assert g(made.cured_g) == Decimal("1253.85")
    assert round(float(100 * made.water_left), 2) == 8.95


@pytest.mark.parametrize(
    ("loss", "grams"), [("0.12", "113.64"), ("0.10", "111.11"), ("0.15", "117.65")]
)
def test_fresh_bar_for_a_label_of_100_g(loss: str, grams: str) -> None:
    assert g(cut_weight(100, Decimal(loss))) == Decimal(grams)


def test_range_of_the_published_values() -> None:
    ends = [(184, 196), (248, 265), (176, 187)]
    fats = [
        Fat(fat.name, fat.weight_g, fat.sv, *span) for fat, span in zip(FATS, ends, strict=True)
    ]

    made = design_soap(fats, Wanted(Decimal("0.05"), 2))

    found = [round(float(100 * one), 1) for one in (made.least_superfat, made.most_superfat)]
    assert found == [1.9, 7.9]
    with pytest.raises(RuleError, match=r"3\.[0-9] % of the lye would be left over"):
        design_soap(fats, Wanted(Decimal(0), 2))


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"superfat": "-0.01"}, "lye is left over"),
        ({"superfat": "0.21"}, "from 0 to 20 %"),
        ({"ratio": 33}, "a strength in per cent"),
        ({"ratio": Decimal("0.9")}, "does not dissolve"),
        ({"naoh_purity": Decimal("0.4")}, "purity"),
        ({"by_naoh": 2}, "From none to all"),
        ({"citric_g": -1}, "less than no grams"),
        ({"liquid": Liquid(100, Decimal("0.7"), Decimal("0.7"), 200)}, "between none and all"),
        ({"liquid": Liquid(100, Decimal("0.04"))}, "value of the liquid's fat"),
        ({"liquid": Liquid(900)}, "more than the"),
        ({"cure_loss": Decimal("0.3")}, "more than the"),
        ({"cure_loss": 1}, "below 100 %"),
    ],
)
def test_soap_that_cannot_be_is_refused(values: dict[str, Any], sentence: str) -> None:
    with pytest.raises(RuleError, match=sentence):
        designed(**values)


@given(
    st.lists(st.tuples(st.integers(1, 9000), st.integers(150, 270)), min_size=1, max_size=6),
    st.integers(0, 20),
    st.integers(100, 500),
)
def test_soap_takes_three_moles_of_lye_a_glycerol_and_weighs_what_went_in(
    fats: list[tuple[int, int]], superfat: int, ratio: int
) -> None:
    kettle = [Fat("a fat", grams, sv) for grams, sv in fats]
    share, water = Fraction(superfat, 100), Fraction(ratio, 100)

    made = design_soap(kettle, Wanted(share, water))

    koh_g = sum((Fraction(grams * sv, 1000) for grams, sv in fats), Fraction()) * (1 - share)
    assert made.naoh_g == koh_g * MOLAR_G["NaOH"] / MOLAR_G["KOH"]
    assert made.water_g == made.naoh_g * water
    assert made.glycerol_g / GLYCEROL_MOLAR_G == made.naoh_g / MOLAR_G["NaOH"] / 3
    assert made.poured_g == made.fats_g + made.naoh_g + made.water_g
    assert made.superfat == share
