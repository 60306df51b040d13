"""The ingredient list, against the two published rules and their different one-per-cent line."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.errors import RuleError
from workshop.rules.ingredients.composition import Constituent, compose, extract_of
from workshop.rules.ingredients.declaration import (
    Market,
    declare,
    in_any_order,
    label_name,
    same_order_allowed,
)
from workshop.rules.markets.laws import LAWS

SUNFLOWER = Constituent("Helianthus Annuus (Sunflower) Seed Oil", "Sunflower", is_organic=True)
BEESWAX = Constituent("Cera Alba", "Beeswax", is_organic=True)
COCONUT = Constituent("Cocos Nucifera (Coconut) Oil", is_organic=True)
SHEA = Constituent("Butyrospermum Parkii (Shea) Butter", is_organic=True)
TOCOPHEROL = Constituent("Tocopherol")
LAVENDER = Constituent("Lavandula Angustifolia Oil", kind="fragrance")
IRON_OXIDE = Constituent("CI 77491", "Iron Oxides", kind="colourant")
WATER = Constituent("Aqua", "Water", kind="water", is_organic=True)

# Worked order of a knee salve of 1000 g, computed from 21 CFR 701.3(f) and article 19(1)(g).
KNEE_SALVE = {
    part: Fraction(grams, 1000)
    for part, grams in {
        IRON_OXIDE: 8,
        TOCOPHEROL: 10,
        SUNFLOWER: 420,
        LAVENDER: 12,
        BEESWAX: 250,
        SHEA: 100,
        COCONUT: 200,
    }.items()
}


def test_knee_salve_is_declared_as_the_us_rule_orders_it() -> None:
    declaration = declare(KNEE_SALVE, "US")

    assert [(entry.name, entry.group) for entry in declaration.entries] == [
        ("Helianthus Annuus (Sunflower) Seed Oil", "main"),
        ("Beeswax", "main"),
        ("Cocos Nucifera (Coconut) Oil", "main"),
        ("Butyrospermum Parkii (Shea) Butter", "main"),
        ("Fragrance", "main"),
        ("Tocopherol", "one_percent"),
        ("Iron Oxides (CI 77491)", "colourant"),
    ]


def test_knee_salve_is_declared_as_the_eu_rule_orders_it() -> None:
    declaration = declare(KNEE_SALVE, "EU")

    assert declaration.text == (
        "Ingredients: Helianthus Annuus Seed Oil*, Cera Alba*, "
        "Cocos Nucifera Oil*, Butyrospermum Parkii Butter*, Parfum, Tocopherol, "
        "CI 77491.\n* organic ingredient"
    )
    assert declaration.entries[5].group == "main"


# Infusions as the Soap Guild's resource centre 264 has them: the oil where its weight puts it, what
# was extracted beside it, at 1 % or less. Its soap is in ounces, of 91.5.
OLIVE = Constituent("Olea Europaea (Olive) Fruit Oil")
FLOWER = Constituent("Calendula Officinalis Flower")
EXTRACT = "Calendula Officinalis Flower Extract"


def infused(**oils: int) -> dict[Constituent, Fraction]:
    """Flowers were steeped in these oils and strained out again."""
    known = {"olive": OLIVE, "sunflower": SUNFLOWER}
    steeped = [(grams, {known[name]: Fraction(1)}) for name, grams in oils.items()]
    return compose([*steeped, (0, extract_of(EXTRACT, {FLOWER: Fraction(1)}))])


def names(blend: dict[Constituent, Fraction]) -> list[str]:
    return [entry.name for entry in declare(blend, "US").entries]


def test_soap_of_an_infused_oil_is_declared_as_the_guild_prints_it() -> None:
    """Printed: Olive Oil, Coconut Oil, Palm Oil, Water, Sodi…; flowers left in stand beside."""
    palm = Constituent("Elaeis Guineensis (Palm) Oil")
    lye, scent = Constituent("Sodium Hydroxide"), Constituent("Scent", kind="fragrance")
    whole = [(COCONUT, "20"), (palm, "20"), (WATER, "19"), (lye, "9.5"), (scent, "2")]
    small = [(FLOWER, "0.5"), (IRON_OXIDE, "0.5")]
    blend = compose(
        [
            (20, infused(olive=20)),
            *((Fraction(ounces), {part: Fraction(1)}) for part, ounces in [*whole, *small]),
        ]
    )

    said = names(blend)

    # Three oils of the same weight stand in any order.
    assert set(said[:3]) == {OLIVE.inci_name, "Cocos Nucifera (Coconut) Oil", palm.inci_name}
    assert said[3:6] == ["Water", "Sodium Hydroxide", "Fragrance"]
    assert set(said[6:8]) == {FLOWER.inci_name, EXTRACT}
    assert said[8:] == ["Iron Oxides (CI 77491)"]


def test_salve_of_a_strained_infusion_names_no_flower_but_its_extract_last() -> None:
    parts = [(600, infused(olive=1)), (250, {BEESWAX: Fraction(1)}), (150, {SHEA: Fraction(1)})]

    said = names(compose(parts))

    assert said == [OLIVE.inci_name, "Beeswax", "Butyrospermum Parkii (Shea) Butter", EXTRACT]


def test_oils_of_an_infused_blend_stand_each_in_its_own_place() -> None:
    parts = [(500, infused(olive=60, sunflower=40)), (500, {BEESWAX: Fraction(1)})]

    said = names(compose(parts))

    assert said == [
        "Beeswax",
        OLIVE.inci_name,
        "Helianthus Annuus (Sunflower) Seed Oil",
        EXTRACT,
    ]


def test_exactly_one_per_cent_is_free_in_the_us_and_ordered_in_the_eu() -> None:
    # 21 CFR 701.3(f)(2) "not more than 1 percent"; article 19(1)(g) "less than 1 %".
    below, one, above = Fraction(9999, 10**6), Fraction(1, 100), Fraction(10001, 10**6)

    assert [in_any_order(share, "US") for share in (below, one, above)] == [True, True, False]
    assert [in_any_order(share, "EU") for share in (below, one, above)] == [True, False, False]


def test_colour_at_five_per_cent_still_comes_last() -> None:
    # 21 CFR 701.3(f)(3)
    blend = {IRON_OXIDE: Fraction(5, 100), SUNFLOWER: Fraction(92, 100), LAVENDER: Fraction(3, 100)}

    assert declare(blend, "US").names[-1] == "Iron Oxides (CI 77491)"


def test_soft_balm_lists_in_the_order_of_its_weights() -> None:
    # A trade fact, common practice, no source: 37.3 g solid oil, 5.2 g wax, 3.6 g liquid oil.
    blend = {
        Constituent("Liquid Oil"): Fraction(36, 461),
        Constituent("Wax"): Fraction(52, 461),
        Constituent("Solid Oil"): Fraction(373, 461),
    }

    assert declare(blend, "US").list_text == "Ingredients: Solid Oil, Wax, Liquid Oil."


def test_organic_and_other_form_of_one_name_are_one_entry_without_a_mark() -> None:
    plain = Constituent("Cera Alba", "Beeswax")
    declaration = declare(
        {BEESWAX: Fraction(1, 3), SHEA: Fraction(1, 3), plain: Fraction(1, 3)}, "EU"
    )

    assert [(e.name, e.share, e.is_organic) for e in declaration.entries] == [
        ("Cera Alba", Fraction(2, 3), False),
        ("Butyrospermum Parkii Butter", Fraction(1, 3), True),
    ]


def test_equal_weights_are_listed_by_name() -> None:
    half = Fraction(1, 2)

    assert declare({SHEA: half, BEESWAX: half}, "EU").names == (
        "Butyrospermum Parkii Butter",
        "Cera Alba",
    )


def test_water_is_named_by_market_and_never_marked_organic() -> None:
    # 7 CFR 205.303(b)(1): water and salt are not marked.
    half = Fraction(1, 2)

    assert declare({WATER: half, SHEA: half}, "US").names[1] == "Water"
    eu = declare({WATER: Fraction(2, 3), SHEA: Fraction(1, 3)}, "EU")
    assert [(entry.name, entry.is_organic) for entry in eu.entries] == [
        ("Aqua", False),
        ("Butyrospermum Parkii Butter", True),
    ]


def test_flower_water_keeps_its_own_name() -> None:
    hydrosol = Constituent("Rosa Damascena Flower Water", kind="water")

    assert declare({hydrosol: Fraction(1)}, "EU").names == ("Rosa Damascena Flower Water",)


def test_fragrances_are_one_word_or_named_one_by_one() -> None:
    mint = Constituent("Mentha Piperita Oil", kind="fragrance", is_organic=True)
    blend = {SHEA: Fraction(97, 100), mint: Fraction(1, 100), LAVENDER: Fraction(2, 100)}

    assert [(e.name, e.share) for e in declare(blend, "EU").entries][1:] == [
        ("Parfum", Fraction(3, 100))
    ]
    assert [e.text for e in declare(blend, "EU", fragrance="named").entries][1:] == [
        "Lavandula Angustifolia Oil",
        "Mentha Piperita Oil*",
    ]


def test_flavour_has_its_own_word() -> None:
    mint = Constituent("Mentha Piperita Oil", kind="flavour")
    blend = {SHEA: Fraction(99, 100), mint: Fraction(1, 100)}

    assert declare(blend, "US").names[1] == "Flavor"
    assert declare(blend, "EU").names[1] == "Aroma"


def test_allergens_stand_by_their_share_and_before_colourants() -> None:
    blend = {SHEA: Fraction(94, 100), LAVENDER: Fraction(3, 100), IRON_OXIDE: Fraction(3, 100)}
    declaration = declare(
        blend, "EU", allergens={"Linalool": Fraction(1, 1000), "Limonene": Fraction(1, 50)}
    )

    assert declaration.names == (
        "Butyrospermum Parkii Butter",
        "Parfum",
        "Limonene",
        "Linalool",
        "CI 77491",
    )


def test_allergen_that_is_an_ingredient_already_is_not_named_twice() -> None:
    blend = {SHEA: Fraction(99, 100), Constituent("Linalool"): Fraction(1, 100)}

    assert declare(blend, "EU", allergens={"Linalool": Fraction(1, 90)}).names == (
        "Butyrospermum Parkii Butter",
        "Linalool",
    )


def test_nanomaterial_is_marked_in_the_eu() -> None:
    zinc = Constituent("Zinc Oxide", is_nano=True)

    assert label_name(zinc, "EU") == "Zinc Oxide (nano)"
    assert label_name(zinc, "US") == "Zinc Oxide"


def test_only_colours_may_stand_after_may_contain() -> None:
    # 21 CFR 701.3(g)
    blend = {SHEA: Fraction(1)}
    ochre = Constituent("CI 77492", kind="colourant")

    assert declare(blend, "US", may_contain=[IRON_OXIDE, ochre]).list_text.endswith(
        "Butter*. May contain: Iron Oxides (CI 77491), Iron Oxides (CI 77492)."
    )
    assert declare(blend, "EU", may_contain=[ochre]).list_text.endswith("Butter* [+/- CI 77492].")
    with pytest.raises(RuleError) as caught:
        declare(blend, "US", may_contain=[TOCOPHEROL])
    assert str(caught.value) == (
        'Only a colour may stand after "may contain", and Tocopherol is none.'
    )


def test_label_without_organic_claim_carries_no_mark() -> None:
    declaration = declare(KNEE_SALVE, "US", mark_organic=False)

    assert "*" not in declaration.text
    assert declaration.organic_line == ""


def test_empty_lot_and_unknown_market_are_refused() -> None:
    with pytest.raises(RuleError, match="nothing in this lot"):
        declare({}, "US")
    with pytest.raises(RuleError, match="use US, EU, UK"):
        declare(KNEE_SALVE, "XX")


@pytest.mark.parametrize(
    ("printed", "allowed"),
    [
        ("ABCDE", True),
        ("ABDCE", True),
        ("BACDE", False),
        ("ACBDE", False),
        ("ABCED", False),
        ("ABCD", False),
        ("EABCD", False),
        ("AEBCD", True),
    ],
)
def test_printed_list_stays_true_only_where_any_order_is_allowed(
    printed: str, *, allowed: bool
) -> None:
    thousandths = {"A": 600, "B": 250, "C": 9, "D": 8}
    blend = {Constituent(name): Fraction(share, 1000) for name, share in thousandths.items()}
    blend[Constituent("E", kind="colourant")] = Fraction(300, 1000)

    assert same_order_allowed(list(printed), declare(blend, "EU")) is allowed


constituents = st.builds(
    Constituent,
    st.sampled_from(["Cera Alba", "Aqua", "Olive Oil", "Sodium Chloride", "CI 77491", "Shea"]),
    kind=st.sampled_from(["plain", "water", "salt", "colourant", "fragrance"]),
    is_organic=st.booleans(),
)
blends = st.dictionaries(constituents, st.integers(1, 2000), min_size=1).map(
    lambda parts: {part: Fraction(n, sum(parts.values())) for part, n in parts.items()}
)


@given(blends, st.sampled_from(tuple(LAWS)), st.sampled_from(["word", "named"]))
def test_list_accounts_for_everything_in_descending_order(
    blend: dict[Constituent, Fraction], market: Market, naming: str
) -> None:
    entries = declare(blend, market, fragrance=naming).entries  # type: ignore[arg-type]  # sampled
    shares = [entry.share for entry in entries if entry.group != "colourant"]

    assert sum(entry.share for entry in entries) == 1
    assert shares == sorted(shares, reverse=True)
    assert (
        same_order_allowed([e.name for e in entries], declare(blend, market)) or naming == "named"
    )


@given(blends)
def test_marked_entry_is_organic_throughout(blend: dict[Constituent, Fraction]) -> None:
    organic = sum(share for part, share in blend.items() if part.is_organic)
    marked = sum(entry.share for entry in declare(blend, "EU").entries if entry.is_organic)

    assert marked <= organic
