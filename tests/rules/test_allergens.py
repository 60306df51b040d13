"""Fragrance allergens: the list itself, sums over oils, thresholds and dates."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from stdnum import casrn

from workshop.rules.allergens.annex_iii import ALLERGENS
from workshop.rules.allergens.prohibited_scents import PROHIBITED
from workshop.rules.allergens.thresholds import (
    THRESHOLDS,
    FragranceMaterial,
    Use,
    allergen_limit_problems,
    allergen_shares,
    allergens_to_name,
    asked_for,
    find_allergens,
    naming_sentences,
    namings,
    old_list_may_be_sold,
)
from workshop.rules.errors import RuleError

AFTER = date(2026, 8, 1)
BEFORE = date(2026, 7, 31)


def percent(text: str) -> Fraction:
    return Fraction(Decimal(text)) / 100


def oil(name: str, share: str, **content: str) -> FragranceMaterial:
    parts = {key.replace("_", "-"): percent(value) for key, value in content.items()}
    return FragranceMaterial(name, percent(share), parts)


def test_list_has_the_published_number_of_entries() -> None:
    # Summaries of Regulation (EU) 2023/1545: 45 added, 17 revised; 19 left as they were.
    standings = [allergen.standing for allergen in ALLERGENS]

    assert [standings.count(standing) for standing in ("old", "revised", "new")] == [19, 17, 45]
    assert len({allergen.number for allergen in ALLERGENS}) == 81


def test_every_cas_number_passes_its_check_digit() -> None:
    numbers = [cas for allergen in ALLERGENS for cas in allergen.cas]
    numbers += [cas for each in PROHIBITED.values() for cas in each.cas]

    assert [cas for cas in numbers if not casrn.is_valid(cas)] == []
    assert len({cas for allergen in ALLERGENS for cas in allergen.cas}) == 167


def test_two_cas_numbers_stand_for_two_names() -> None:
    twice = [cas for a in ALLERGENS for cas in a.cas if len(find_allergens(cas)) > 1]

    assert sorted(set(twice)) == ["72968-50-4", "8028-48-6"]
    with pytest.raises(RuleError) as caught:
        allergen_shares([FragranceMaterial("Orange", percent("1"), {"8028-48-6": Fraction(1)})])
    assert str(caught.value) == (
        "CAS number 8028-48-6 can mean Citrus Aurantium Flower Oil or Citrus Aurantium Peel Oil. "
        "Enter the name instead."
    )


@pytest.mark.parametrize(
    ("oils", "use", "named"),
    [  # computed from the thresholds of Regulation (EU) 2023/1545: more than, not as much as
        ([oil("Lavender", "0.5", linalool="35")], "leave-on", {"Linalool": "0.175"}),
        ([oil("Lavender", "0.5", limonene="0.2")], "leave-on", {}),
        ([oil("Lavender", "0.5", limonene="0.3")], "leave-on", {"Limonene": "0.0015"}),
        (
            [oil("Lemon", "2", limonene="65", citral="2.1")],
            "rinse-off",
            {"Limonene": "1.3", "Citral": "0.042"},
        ),
        ([oil("Tea tree", "1", limonene="1.0")], "rinse-off", {}),
        (
            [oil("Tea tree", "0.2", limonene="1.0"), oil("Lemon", "0.02", limonene="65")],
            "leave-on",
            {"Limonene": "0.015"},
        ),
        (
            [oil("A", "0.06", limonene="1"), oil("B", "0.06", limonene="1")],
            "leave-on",
            {"Limonene": "0.0012"},
        ),
        (
            [oil("Lemon", "0.1", geranial="0.7", neral="0.5")],
            "leave-on",
            {"Citral": "0.0012"},
        ),
        (
            [oil("Pine", "0.1", alpha_pinene="0.7", beta_pinene="0.5")],
            "leave-on",
            {"Pinene": "0.0012"},
        ),
    ],
)
def test_allergens_are_named_above_the_threshold_of_all_sources_together(
    oils: list[FragranceMaterial], use: Use, named: dict[str, str]
) -> None:
    found = allergens_to_name(allergen_shares(oils), use, AFTER)

    assert found == {name: percent(share) for name, share in named.items()}
    assert list(found) == list(named)


def test_rinse_off_threshold_is_ten_times_the_leave_on_one() -> None:
    assert {"leave-on": percent("0.001"), "rinse-off": percent("0.01")} == THRESHOLDS


def test_oil_that_is_an_entry_of_its_own_is_named_beside_its_parts() -> None:
    lavender = oil("Lavandula Angustifolia Oil", "0.5", linalool="35")

    assert list(allergens_to_name(allergen_shares([lavender]), "leave-on", AFTER)) == [
        "Lavandula Oil/Extract",
        "Linalool",
    ]
    assert list(allergens_to_name(allergen_shares([lavender]), "leave-on", BEFORE)) == ["Linalool"]


def test_earlier_list_holds_the_twenty_four_names_until_the_transition_ends() -> None:
    assert len(asked_for(BEFORE)) == 24
    assert len(asked_for(AFTER)) == 81
    assert {"Benzyl Alcohol", "Citral", "Limonene"} <= {a.name for a in asked_for(BEFORE)}


def test_stock_with_the_earlier_list_may_be_sold_for_two_more_years() -> None:
    assert old_list_may_be_sold(BEFORE, date(2028, 7, 31))
    assert not old_list_may_be_sold(BEFORE, date(2028, 8, 1))
    assert not old_list_may_be_sold(AFTER, AFTER)


def test_methyl_coumarin_is_named_only_in_products_for_the_mouth() -> None:
    shares = {"6-Methyl Coumarin": percent("0.002")}

    assert allergens_to_name(shares, "leave-on", AFTER) == {}
    assert list(allergens_to_name(shares, "leave-on", AFTER, oral=True)) == ["6-Methyl Coumarin"]


@pytest.mark.parametrize(
    "key", ["Butylphenyl Methylpropional", "80-54-6", "31906-04-4", "butylphenyl methylpropional "]
)
def test_prohibited_substance_is_refused(key: str) -> None:
    with pytest.raises(RuleError, match="is prohibited in cosmetics"):
        allergen_shares([FragranceMaterial("Blend", percent("1"), {key: percent("1")})])


def test_limit_of_the_entry_itself_is_told() -> None:
    assert allergen_limit_problems({"Isoeugenol": percent("0.02")}) == []
    assert allergen_limit_problems({"Isoeugenol": percent("0.021")}) == [
        "Isoeugenol would be 0.0210 % of the product, and 0.02 % is the most allowed."
    ]


def test_what_is_not_on_the_list_is_passed_over() -> None:
    assert allergen_shares([oil("Tea tree", "1", terpinen_4_ol="40")]) == {}


@pytest.mark.parametrize(("share", "content"), [("1", "101"), ("101", "1"), ("1", "-1")])
def test_share_that_cannot_be_is_refused(share: str, content: str) -> None:
    with pytest.raises(RuleError, match="from 0 to 100 %"):
        allergen_shares([oil("Lavender", share, linalool=content)])


@pytest.mark.parametrize(
    ("share", "named"), [("0.000999", False), ("0.001", False), ("0.001001", True)]
)
def test_change_tells_a_naming_only_beyond_the_threshold(share: str, named: bool) -> None:  # noqa: FBT001 -- a column of the table
    # Source: Regulation (EU) 2023/1545: named when more than 0.001 % of a leave-on product.
    there, none = {"Linalool": percent(share)}, dict[str, Fraction]()

    (up,) = namings(none, there, "leave-on", AFTER)
    (down,) = namings(there, none, "leave-on", AFTER)

    assert (up.was_named, up.is_named) == (False, named)
    assert (down.was_named, down.is_named) == (named, False)
    assert bool(naming_sentences([up], "leave-on")) == named


@pytest.mark.parametrize(("share", "told"), [("0.01", 0), ("0.010001", 1)])
def test_limit_of_an_entry_met_exactly_is_kept(share: str, told: int) -> None:
    # Source: Annex III, entry 89: at most 0.01 %.
    assert len(allergen_limit_problems({"Methyl 2-Octynoate": percent(share)})) == told
