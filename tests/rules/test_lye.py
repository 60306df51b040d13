"""Lye: the worked soap, what stops a lye-heavy one, and the list as it comes out."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from workshop.rules.errors import RuleError
from workshop.rules.ingredients.composition import Constituent
from workshop.rules.ingredients.declaration import declare
from workshop.rules.quantities.units import round_to
from workshop.rules.soap.design import SoapDesign, Wanted, design_soap
from workshop.rules.soap.fats import BOTANICAL, SV_RANGES, published_range, sounds_like_fat
from workshop.rules.soap.lye import (
    CAUTIONS,
    GLYCERIN,
    LAST_WORD,
    MOLAR_G,
    Fat,
    as_saponified,
    lye_hazard,
    sv_warnings,
    water_for_strength,
)

CENT = Decimal("0.01")
# The middle of each range, with its ends: olive 184-196, coconut 248-265, castor 176-187.
FATS = [
    Fat("olive oil", 600, 190, 184, 196),
    Fat("coconut oil", 300, Decimal("256.5"), 248, 265),
    Fat("castor oil", 100, Decimal("181.5"), 176, 187),
]


def plan(**more: Any) -> SoapDesign:
    figures: dict[str, Any] = {"superfat": Decimal("0.05"), "water_to_lye": 2}
    return design_soap(FATS, Wanted(**(figures | more)))


def test_worked_soap_matches_the_published_arithmetic() -> None:
    # Computed from ISO 3657 values and molar masses: 1000 g of fats, 5 % superfat, water 2 : 1.
    soap = plan()
    figures = (
        soap.naoh_g / Fraction(95, 100),  # without any superfat
        soap.naoh_weighed_g,
        soap.water_g,
        soap.glycerol_g,
        soap.poured_g,
    )

    assert [str(round_to(g, CENT)) for g in figures] == [
        "149.06",
        "141.61",
        "283.22",
        "108.69",
        "1424.83",
    ]
    assert [
        round_to(share * 100, Decimal("0.1")) for share in (soap.least_superfat, soap.most_superfat)
    ] == [
        Decimal("1.9"),
        Decimal("7.9"),
    ]
    assert soap.warnings == ()


@pytest.mark.parametrize(
    ("more", "weigh"),
    [
        ({"superfat": Decimal("0.08")}, "137.14"),
        ({"naoh_purity": Decimal("0.97")}, "145.99"),
        ({"by_naoh": 0, "koh_purity": Decimal("0.90")}, "220.72"),
    ],
)
def test_superfat_purity_and_kind_of_alkali_change_what_is_weighed(
    more: dict[str, Any], weigh: str
) -> None:
    soap = plan(**more)

    assert str(round_to(soap.naoh_weighed_g + soap.koh_weighed_g, CENT)) == weigh


def test_strength_of_the_lye_gives_the_water() -> None:
    water = plan(water_to_lye=water_for_strength(Decimal("0.33"))).water_g

    assert str(round_to(water, CENT)) == "287.51"
    for strength in (0, 1, Decimal("1.2")):
        with pytest.raises(RuleError):
            water_for_strength(strength)


def test_soap_that_could_be_lye_heavy_is_refused() -> None:
    # With every value at its least the fats use up 144.29 g of the 144.59 g: 0.2 % is left.
    with pytest.raises(RuleError) as caught:
        plan(superfat=Decimal("0.03"))
    assert "0.2 % of the lye would be left over. The soap could burn skin." in str(caught.value)
    assert plan(superfat=Decimal("0.0321")).least_superfat > 0


@pytest.mark.parametrize(
    ("fat", "molar_mass", "sv"),
    [  # a triglyceride takes three KOH: triolein, tristearin, tripalmitin, trilaurin
        ("triolein", "885.43", "190.1"),
        ("tristearin", "891.48", "188.8"),
        ("tripalmitin", "807.32", "208.5"),
        ("trilaurin", "639.0", "263.4"),
    ],
)
def test_alkali_for_a_pure_triglyceride_is_three_moles(fat: str, molar_mass: str, sv: str) -> None:
    exact = 3 * MOLAR_G["KOH"] * 1000 / Fraction(molar_mass)

    assert round_to(exact, Decimal("0.1")) == Decimal(sv)
    soap = design_soap([Fat(fat, Decimal(molar_mass), exact)], Wanted(0, 2))
    assert soap.naoh_g == 3 * MOLAR_G["NaOH"]
    assert soap.glycerol_g == Fraction("92.094")


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"superfat": Decimal("0.21")}, "superfat must be from 0 to 20 %"),
        ({"superfat": -1}, "the soap burns skin"),
        ({"naoh_purity": 97}, "purity of an alkali must be from 50 to 100 %"),
        ({"water_to_lye": Decimal("0.5")}, "at least as much water as alkali"),
    ],
)
def test_figure_that_cannot_be_is_refused(more: dict[str, Any], sentence: str) -> None:
    with pytest.raises(RuleError, match=sentence):
        plan(**more)


def test_fats_that_cannot_be_are_refused() -> None:
    for fats in ([], [Fat("olive oil", 0, 190)], [Fat("olive oil", 100, Decimal("0.190"))]):
        with pytest.raises(RuleError):
            design_soap(fats, Wanted(0, 2))


def test_value_outside_its_published_range_is_warned_of() -> None:
    heavy = design_soap([Fat("Coconut oil", 100, 269)], Wanted(Decimal("0.05"), 2))

    assert heavy.warnings == (
        "Coconut oil: 269 is outside the published 248 to 265 (CXS 210). Check it.",
    )
    assert sv_warnings([Fat("sunflower oil", 1, 187), Fat("unheard of oil", 1, 390)]) == []
    assert all(least < most for least, most, _ in SV_RANGES.values())


@pytest.mark.parametrize(
    ("strength", "words"),
    [("0.05", "1A"), ("0.049", "1B"), ("0.02", "1B"), ("0.019", "irritates"), ("0.004", "Below")],
)
def test_hazard_class_follows_the_strength(strength: str, words: str) -> None:
    assert words in lye_hazard(Decimal(strength))


OLIVE = Constituent("Olea Europaea (Olive) Fruit Oil", is_organic=True, soap_name="Sodium Olivate")
COCO = Constituent("Cocos Nucifera (Coconut) Oil", soap_name="Sodium Cocoate")
LYE = Constituent("Sodium Hydroxide", kind="alkali")
WATER = Constituent("Aqua", "Water", kind="water")
VALUES = {OLIVE: 190, COCO: 257}


def test_soap_is_declared_as_added_or_as_it_comes_out() -> None:
    parts = {OLIVE: 700, COCO: 300, LYE: 141, WATER: 282}
    added = {part: Fraction(grams, 1423) for part, grams in parts.items()}

    assert declare(added, "EU").list_text == (
        "Ingredients: Olea Europaea Fruit Oil*, Cocos Nucifera Oil, Aqua, Sodium Hydroxide."
    )
    assert declare(as_saponified(added, VALUES), "EU").list_text == (
        "Ingredients: Sodium Olivate, Sodium Cocoate, Aqua, Glycerin, "
        "Olea Europaea Fruit Oil*, Cocos Nucifera Oil."
    )


def test_fully_saponified_triglyceride_gives_salt_and_glycerol_by_mole() -> None:
    molar = Fraction("885.43")
    fat = Constituent("Triolein", soap_name="Sodium Oleate")
    total = molar + 3 * MOLAR_G["NaOH"]
    sv = 3 * MOLAR_G["KOH"] * 1000 / molar
    out = as_saponified({fat: molar / total, LYE: 1 - molar / total}, {fat: sv})

    assert out[GLYCERIN] == Fraction("92.094") / total
    assert set(out) == {GLYCERIN, Constituent("Sodium Oleate")}


@given(st.integers(1, 900), st.integers(1, 900), st.integers(1, 300), st.integers(0, 600))
def test_nothing_is_gained_or_lost_in_the_soap(olive: int, coco: int, lye: int, water: int) -> None:
    total = olive + coco + lye + water
    parts = {OLIVE: olive, COCO: coco, LYE: lye, WATER: water}
    added = {part: Fraction(grams, total) for part, grams in parts.items() if grams}
    assume(lye * 1000 * MOLAR_G["KOH"] <= (olive * 190 + coco * 257) * MOLAR_G["NaOH"])

    out = as_saponified(added, VALUES)

    assert sum(out.values()) == 1
    assert min(out.values()) > 0
    assert LYE not in out


POTASH = Constituent("Potassium Hydroxide", kind="alkali")


def test_soap_of_two_alkalis_gives_a_salt_of_each_by_their_moles() -> None:
    # 600 g of olive oil at 190 bind 114.00 g of KOH, or 81.27 g of NaOH: 48.76 g of NaOH and
    # 45.60 g of KOH are 60 and 40 parts of what it binds in all (CXS 33, ISO 3657).
    moles = Fraction(114) / MOLAR_G["KOH"]
    grams = {
        OLIVE: Fraction(600),
        LYE: moles * Fraction(6, 10) * MOLAR_G["NaOH"],
        POTASH: moles * Fraction(4, 10) * MOLAR_G["KOH"],
    }
    total = sum(grams.values())
    out = as_saponified({part: g / total for part, g in grams.items()}, {OLIVE: 190})
    sodium, potassium = Constituent("Sodium Olivate"), Constituent("Potassium Olivate")

    assert set(out) == {sodium, potassium, GLYCERIN}
    assert sum(out.values()) == 1
    assert out[GLYCERIN] * total == moles * Fraction("92.094") / 3
    acids = 600 - moles * Fraction("92.094") / 3  # of the fat, without its glycerol
    assert out[sodium] * total == Fraction(6, 10) * acids + grams[LYE]
    assert out[potassium] * total == Fraction(4, 10) * acids + grams[POTASH]
    assert declare(out, "EU").list_text == (
        "Ingredients: Sodium Olivate, Potassium Olivate, Glycerin."
    )


def test_glycerol_from_potassium_hydroxide_is_as_worked() -> None:
    # 79.46 g of KOH give 43.48 g of glycerol, by one glycerol to three hydroxides (IUPAC masses).
    grams = {OLIVE: Fraction(1000), POTASH: Fraction("79.46")}
    total = sum(grams.values())
    out = as_saponified({part: g / total for part, g in grams.items()}, {OLIVE: 190})

    assert round(float(out[GLYCERIN] * total), 2) == 43.48
    assert Constituent("Potassium Olivate") in out


def test_soap_of_another_alkali_is_not_named_by_what_came_out() -> None:
    soda = Constituent("Sodium Carbonate", kind="alkali")

    with pytest.raises(RuleError, match="neither sodium nor potassium hydroxide"):
        as_saponified({OLIVE: Fraction(9, 10), soda: Fraction(1, 10)}, {OLIVE: 190})


def test_soap_that_cannot_be_named_is_refused() -> None:
    nameless = Constituent("Mystery Butter")
    half = Fraction(1, 2)

    with pytest.raises(RuleError, match="has no soap name"):
        as_saponified({nameless: Fraction(9, 10), LYE: Fraction(1, 10)}, {nameless: 190})
    with pytest.raises(RuleError, match="more alkali than the fats can use up"):
        as_saponified({OLIVE: half, LYE: half}, VALUES)
    with pytest.raises(RuleError, match="needs an alkali"):
        as_saponified({OLIVE: Fraction(1)}, VALUES)


def test_salt_made_here_is_no_organic_ingredient_though_its_fat_was() -> None:
    # 7 CFR 205.303(b)(1): the mark stands at an organic ingredient; a salt is none.
    added = {OLIVE: Fraction(600, 677), LYE: Fraction(77, 677)}

    out = as_saponified(added, {OLIVE: 190})

    assert {part.inci_name: part.is_organic for part in out} == {
        "Sodium Olivate": False,
        OLIVE.inci_name: True,
        "Glycerin": False,
    }


@pytest.mark.parametrize(
    ("names", "least"),
    [
        (("Olea Europaea (Olive) Fruit Oil", "olive oil"), "184"),
        (("Olea Europaea Fruit Oil", ""), "184"),
        (("Elaeis Guineensis (Palm) Kernel Oil",), "230"),
        (("Elaeis Guineensis (Palm) Oil",), "190"),
        (("Butyrospermum Parkii Butter",), "160"),
        (("Cera Alba", "Beeswax"), "87"),
        (("Hydrogenated Castor Oil",), "176"),
        (("Caprylic/Capric Triglyceride", "fractionated coconut oil"), None),
        (("Hydrogenated Olive Oil",), None),
        (("Persea Gratissima Oil", "avocado oil"), None),
    ],
)
def test_published_range_is_found_by_any_name_of_the_fat(
    names: tuple[str, ...], least: str | None
) -> None:
    # Codex Stan 33, 210 and 325, Ph. Eur., USP: see `fats.SV_RANGES`.
    found = published_range(*names)

    assert (found and str(found[0])) == least


def test_every_botanical_name_leads_to_a_range() -> None:
    assert set(BOTANICAL.values()) <= set(SV_RANGES)


def test_what_sounds_like_fat_needs_its_value() -> None:
    fats = ["Mango butter", "Stearic Acid", "Candelilla Cera", "Theobroma Cacao Seed Butter"]
    others = ["Avena Sativa Kernel Flour", "Tocopherol", "Titanium Dioxide", "Oilcloth"]

    assert [name for name in fats + others if sounds_like_fat(name)] == fats


def test_nobody_reads_on_a_screen_where_a_figure_was_remembered() -> None:
    shown = [*CAUTIONS, LAST_WORD, *(source for _, _, source in SV_RANGES.values())]

    assert not [text for text in shown if "memory" in text or "second-hand" in text]
