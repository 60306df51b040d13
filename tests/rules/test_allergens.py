"""Fragrance allergens: the list itself, sums over oils, thresholds and dates."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from stdnum import casrn

from workshop.rules.allergens.annex_iii import ALLERGENS
from workshop.rules.allergens.names import folded, listed_name, near_names
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


def test_change_tells_every_allergen_of_before_and_after_the_greatest_after_first() -> None:
    before = {"Citral": percent("0.005"), "Geraniol": percent("0.002"), "Linalool": percent("0.1")}
    after = {"Limonene": percent("0.03"), "Citral": percent("0.03"), "Farnesol": percent("0.0001")}

    found = namings(before, after, "leave-on", AFTER)

    # Of equal shares the one that was more before, then by name.
    assert [(one.name, one.before * 100, one.after * 100) for one in found] == [
        ("Citral", Fraction("0.005"), Fraction("0.03")),
        ("Limonene", 0, Fraction("0.03")),
        ("Farnesol", 0, Fraction("0.0001")),
        ("Linalool", Fraction("0.1"), 0),
        ("Geraniol", Fraction("0.002"), 0),
    ]
    assert {one.threshold for one in found} == {percent("0.001")}
    tied = namings({}, {"Linalool": percent("1"), "Citral": percent("1")}, "rinse-off", AFTER)
    assert [(one.name, one.threshold) for one in tied] == [
        ("Citral", percent("0.01")),
        ("Linalool", percent("0.01")),
    ]


def test_change_of_what_no_label_is_asked_for_tells_no_naming() -> None:
    much = {"Vanillin": percent("1"), "6-Methyl Coumarin": percent("1"), "Linalool": percent("1")}

    # Vanillin is of the longer list alone; methyl coumarin is named in products for the mouth.
    asked = {one.name for one in namings({}, much, "leave-on", BEFORE) if one.is_named}
    assert asked == {"Linalool"}
    asked = {one.name for one in namings(much, {}, "leave-on", AFTER) if one.was_named}
    assert asked == {"Linalool", "Vanillin"}


@pytest.mark.parametrize(
    ("names", "use", "up", "down"),
    [
        (["Citral"], "leave-on",
         "Citral passes 0.001 % (leave-on): an EU label must then name it.",
         "Citral no longer passes 0.001 % (leave-on): an EU label need not name it then."),
        (["Citral", "Geraniol"], "rinse-off",
         "Citral and Geraniol pass 0.01 % (rinse-off): an EU label must then name them.",
         "Citral and Geraniol no longer pass 0.01 % (rinse-off): an EU label need not name them "
         "then."),
        (["Citral", "Geraniol", "Linalool"], "leave-on",
         "Citral, Geraniol and Linalool pass 0.001 % (leave-on): an EU label must then name them.",
         "Citral, Geraniol and Linalool no longer pass 0.001 % (leave-on): an EU label need not "
         "name them then."),
    ],
)  # fmt: skip
def test_sentences_name_what_passes_and_what_no_longer_does(
    names: list[str], use: Use, up: str, down: str
) -> None:
    shares = dict.fromkeys(names, percent("1"))
    more, less = namings({}, shares, use, AFTER), namings(shares, {}, use, AFTER)

    assert naming_sentences(more, use) == [up]
    assert naming_sentences(less, use) == [down]
    assert naming_sentences([*less, *more], use) == [up, down]
    assert naming_sentences(namings(shares, shares, use, AFTER), use) == []


def test_what_was_looked_for_and_not_found_is_no_allergen_of_the_product() -> None:
    assert allergen_shares([oil("Lavender", "1", linalool="0", limonene="100")]) == {
        "Limonene": percent("1")
    }
    assert allergen_shares([oil("Lavender", "0", linalool="35")]) == {}
    assert allergen_shares([oil("Blend", "100", linalool="100")]) == {"Linalool": Fraction(1)}


def test_day_of_the_longer_list_is_the_markets_own() -> None:
    vanillin = {"Vanillin": percent("1")}

    assert list(allergens_to_name(vanillin, "leave-on", AFTER)) == ["Vanillin"]
    assert allergens_to_name(vanillin, "leave-on", BEFORE) == {}
    assert allergens_to_name(vanillin, "leave-on", AFTER, longer_list_from=None) == {}
    later = date(2027, 1, 1)
    assert allergens_to_name(vanillin, "leave-on", AFTER, longer_list_from=later) == {}
    assert list(allergens_to_name(vanillin, "leave-on", later, longer_list_from=later)) == [
        "Vanillin"
    ]


@pytest.mark.parametrize(
    ("written", "listed"),
    # Spellings of certificates, from memory; the names are those of Regulation (EU) 2023/1545.
    [
        ("LIMONENE", "Limonene"), ("(R)-(+)-Limonene", "Limonene"), ("α-Pinene", "alpha-Pinene"),
        ("beta - Pinene", "beta-Pinene"), ("Citral (sum of isomers)", "Citral"),
        ("Linalool synthetic", "Linalool"), ("Lilial", "Butylphenyl Methylpropional"),
        ("Vanilline", "Vanillin"), ("Water", None), ("", None),
    ],
)  # fmt: skip
def test_names_of_certificates_lead_to_the_lists_own(written: str, listed: str | None) -> None:
    found = listed_name(written)
    assert (found and folded(found)) == (listed and folded(listed))


def test_near_names_are_of_different_entries_and_no_more_than_asked_for() -> None:
    assert near_names("Geraniel") == near_names("Geraniel", 2)
    for most in (1, 2, 3):
        found = near_names("Geraniel", most)
        assert 1 <= len(found) <= most
        assert len({find_allergens(one) for one in found}) == len(found)
    assert near_names("Linalol")[0] == "Linalool"
