"""Organic share and claims, with the worked figures of 7 CFR 205.301 to 205.305."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.errors import RuleError
from workshop.rules.ingredients.composition import Constituent
from workshop.rules.ingredients.organic_share import (
    BY_RULE,
    RANKS,
    Limits,
    biggest_organic,
    certifier_line,
    certifier_stands_below,
    claim_problems,
    made_with_statement,
    organic_classification,
    organic_share,
    organic_twins,
)

OIL = Constituent("Oil", is_organic=True)
OTHER = Constituent("Other", status="listed_b")
WATER = Constituent("Aqua", kind="water", is_organic=True)
SALT = Constituent("Sodium Chloride", kind="salt")
# 7 CFR 205.605(b) lists sodium hydroxide (annual edition of 2015).
LYE = Constituent("Sodium Hydroxide", kind="alkali", status="listed_b")


def blend(**tenths: int) -> dict[Constituent, Fraction]:
    """A lot from weights in tenths of a gram."""
    parts = {"oil": OIL, "other": OTHER, "water": WATER, "salt": SALT, "lye": LYE}
    total = sum(tenths.values())
    return {parts[name]: Fraction(weight, total) for name, weight in tenths.items()}


@pytest.mark.parametrize(
    ("lot", "percent", "category"),
    [  # computed from 7 CFR 205.301 and 205.302(b), rounding down
        (blend(oil=9900, other=100), 99, "organic"),
        (blend(oil=9499, other=501), 94, "made with organic"),
        (blend(oil=9500, other=500), 95, "organic"),
        (blend(water=6000, oil=3790, other=210), 94, "made with organic"),
        (blend(water=6000, oil=3800, other=200), 95, "organic"),
        (blend(salt=5000, oil=3490, other=1510), 69, "below 70"),
        (blend(salt=5000, oil=3500, other=1500), 70, "made with organic"),
        (blend(oil=6999, other=3001), 69, "below 70"),
        (blend(oil=9999, other=1), 99, "organic"),
        (blend(oil=10000), 100, "100 percent organic"),
        (blend(oil=5000, water=5000), 100, "100 percent organic"),
        (blend(oil=10000, lye=1400), 87, "made with organic"),
        (blend(other=10000), 0, "none"),
        (blend(oil=1, other=9999), 0, "below 70"),
        (blend(water=10000), 0, "none"),
    ],
)
def test_category_follows_the_share_rounded_down(
    lot: dict[Constituent, Fraction], percent: int, category: str
) -> None:
    standing = organic_classification(lot)

    assert (standing.percent, standing.category) == (percent, category)


def test_share_is_unknown_where_there_is_only_water_and_salt() -> None:
    assert organic_share(blend(water=1, salt=1)) is None


@given(*[st.integers(0, 10_000)] * 4)
def test_category_agrees_with_whole_number_arithmetic(
    oil: int, other: int, water: int, salt: int
) -> None:
    base = oil + other
    if not base:
        return
    category = organic_classification(blend(oil=oil, other=other, water=water, salt=salt)).category

    assert (category in ("organic", "100 percent organic")) == (oil * 100 >= 95 * base)
    assert (RANKS.index(category) >= 2) == (oil * 100 >= 70 * base)
    assert (category == "100 percent organic") == (other == 0)


def sunflower(*, status: str) -> dict[Constituent, Fraction]:
    """Organic sunflower oil with some of another status in it."""
    organic = Constituent("Sunflower", is_organic=True)
    return {organic: Fraction(96, 100), Constituent("Sunflower", status=status): Fraction(4, 100)}


TWIN = (
    "Sunflower is in the lot both as organic and as not organic, and a product called organic may "
    "hold only one of the two."
)


def test_both_forms_of_one_ingredient_are_barred_from_an_organic_product() -> None:
    # 7 CFR 205.301(f)(7); for "made with" it does not apply (205.301(c)).
    lot = sunflower(status="listed_b")

    assert organic_twins(lot) == ("Sunflower",)
    assert claim_problems(lot, "organic") == [TWIN]
    assert claim_problems(lot, "made with organic") == []
    assert biggest_organic(lot) == []


@pytest.mark.parametrize(
    ("status", "organic", "made_with"),
    [  # 7 CFR 205.301(b) and (c), 205.605, 205.606
        ("listed_a", None, None),
        ("listed_b", None, None),
        ("listed_606", None, None),
        ("listed_606_unsearched", "no search shows", None),
        ("listed_made_with", "listed only for products made with", None),
        ("agricultural", "must be organic, unless 7 CFR 205.606 lists it", None),
        ("prohibited", "prohibited or not allowed", "prohibited or not allowed"),
        ("", "nothing says what else it is", "nothing says what else it is"),
    ],
)
def test_rest_of_the_product_needs_a_status(
    status: str, organic: str | None, made_with: str | None
) -> None:
    lot = {OIL: Fraction(98, 100), Constituent("Scent", status=status): Fraction(2, 100)}

    for claim, refused in (("organic", organic), ("made with organic", made_with)):
        problems = claim_problems(lot, claim)  # type: ignore[arg-type]  # one of the categories
        assert len(problems) == bool(refused)
        assert all(refused and problem.startswith("Scent ") for problem in problems)
        assert all(refused and refused in problem for problem in problems)
    assert claim_problems(lot, "100 percent organic")[1:] == ["Scent is not organic."]


def test_share_alone_makes_no_category() -> None:
    scented = {
        OIL: Fraction(98, 100),
        Constituent("Orange", status="agricultural"): Fraction(2, 100),
    }
    found = organic_classification(scented)

    assert (found.by_share, found.category, found.percent) == ("organic", "made with organic", 98)
    assert "Do not show the USDA seal." in found.may_not_say
    assert [sentence.split()[0] for sentence in found.why_not] == ["Orange"]


def test_claim_above_what_the_lot_holds_is_explained() -> None:
    assert claim_problems(blend(oil=9499, other=501), "organic") == [
        'The lot is 94 % organic, and "organic" needs at least 95 %.'
    ]
    assert claim_problems(blend(other=1), "below 70") == [
        'The lot is 0 % organic, and "below 70" needs an organic ingredient.'
    ]
    assert claim_problems(blend(oil=1), "100 percent organic") == []
    assert claim_problems(blend(other=1), "none") == []


def test_category_says_what_the_label_may_and_may_not_carry() -> None:
    # 7 CFR 205.303(a)(4), 205.304(c), 205.305(b): the seal from 95 per cent only
    below = organic_classification(blend(oil=69, other=31))
    organic = organic_classification(blend(oil=99, other=1))

    assert "Do not show the USDA seal." in below.may_not_say
    assert organic.may_not_say == ('Do not say "100 percent organic".',)
    assert organic.may_say[0] == 'Say "organic" in front of the product name, and the percentage.'


def test_made_with_statement_names_three_at_most() -> None:
    # 7 CFR 205.304(a)(1)(i)
    assert made_with_statement(["olive oil", "beeswax", "shea"]) == (
        "Made with organic olive oil, beeswax and shea"
    )
    assert made_with_statement(["oils"]) == "Made with organic oils"
    for names in ([], ["a", "b", "c", "d"], [" "]):
        with pytest.raises(RuleError, match="names one to three"):
            made_with_statement(names)


def test_certifier_line_stands_below_the_maker() -> None:
    # 7 CFR 205.303(b)(2)
    maker, certifier = "Wren Hollow Works", "Evergrain Assurance"
    line = certifier_line(certifier)

    assert certifier_stands_below([maker, line], maker, certifier)
    assert not certifier_stands_below([line, maker], maker, certifier)
    assert not certifier_stands_below([maker], maker, certifier)


def test_front_names_the_organic_ingredients_of_greatest_share() -> None:
    parts = {
        Constituent(name, is_organic=True): Fraction(n, 20)
        for name, n in zip("ABCD", (2, 5, 2, 3), strict=True)
    }
    parts |= {WATER: Fraction(8, 20)}

    assert [part.inci_name for part in biggest_organic(parts)] == ["B", "D", "A"]


def test_scheme_with_other_limits_is_held_to_its_own() -> None:
    # 95 and 70 are those of 7 CFR 205.301; a certifier's own scheme may set others.
    oil, lye = Constituent("Oil", is_organic=True), Constituent("Lye", status="listed_b")
    mixed = {oil: Fraction(96, 100), lye: Fraction(4, 100)}
    strict = Limits(Decimal("96.5"), Decimal(80))

    assert organic_classification(mixed).category == "organic"
    assert organic_classification(mixed, strict).category == "made with organic"
    assert claim_problems(mixed, "organic", strict) == [
        'The lot is 96 % organic, and "organic" needs at least 96.5 %.'
    ]
    assert claim_problems(mixed, "organic") == []


def test_stricter_of_two_limits_holds_each_by_itself() -> None:
    assert Limits(Decimal(90), Decimal(75)).no_looser_than(BY_RULE) == Limits(
        Decimal(95), Decimal(75)
    )
