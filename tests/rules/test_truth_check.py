"""The truth check as tables of cases: what a label may say of a lot, and what not."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import Any

import pytest

from workshop.rules.ingredients.composition import Constituent
from workshop.rules.ingredients.declaration import Market, declare
from workshop.rules.ingredients.organic_share import Category
from workshop.rules.labels.stated_and_found import Approved, Difference, LotFactsFound, Way
from workshop.rules.labels.truth_check import covered_by, differences, durability_needs_jar
from workshop.rules.labels.worth_a_look import close_neighbours, colours_for_the_list

OLIVE = Constituent("Olea Europaea Fruit Oil", is_organic=True)
PLAIN_OLIVE = Constituent("Olea Europaea Fruit Oil", status="listed_b")
WAX = Constituent("Cera Alba", status="listed_b")
VITAMIN = Constituent("Tocopherol", status="listed_b")
ROSEMARY = Constituent("Rosmarinus Officinalis Leaf Extract", status="listed_b")
RUST = Constituent("CI 77491", kind="colourant")
MADE = date(2026, 11, 25)
THIN = "\u202f"


def found(parts: Mapping[Constituent, str], market: Market = "EU", **values: Any) -> LotFactsFound:
    """A lot of these per cents."""
    composition = {part: Fraction(percent) / 100 for part, percent in parts.items()}
    allergens = {n: Fraction(s) / 100 for n, s in values.pop("allergens", {}).items()}
    values.setdefault("best_before", date(2027, 11, 25))
    return LotFactsFound(
        lot="ABCD-EFG",
        declaration=declare(composition, market, allergens=allergens),
        composition=composition,
        made_on=MADE,
        allergens=allergens,
        **values,
    )


def said(approved: Approved, of: LotFactsFound) -> list[tuple[str, str]]:
    return [(each.way, each.sentence) for each in differences(approved, of)]


def names(*parts: Constituent) -> tuple[str, ...]:
    return tuple(part.inci_name for part in parts)


BALM = {OLIVE: "80", WAX: "19", VITAMIN: "0.6", ROSEMARY: "0.4"}


@pytest.mark.parametrize(
    ("market", "parts", "printed", "is_true"),
    [
        # Source: 21 CFR 701.3(a), (f)(2): not more than 1 % may stand in any order.
        ("US", {OLIVE: "98", VITAMIN: "1.2", WAX: "0.8"}, (OLIVE, WAX, VITAMIN), False),
        ("US", {OLIVE: "98.2", VITAMIN: "1", WAX: "0.8"}, (OLIVE, WAX, VITAMIN), True),
        # Source: Regulation (EC) 1223/2009, article 19(1)(g): less than 1 %.
        ("EU", {OLIVE: "98.2", VITAMIN: "1", WAX: "0.8"}, (OLIVE, WAX, VITAMIN), False),
        ("EU", {OLIVE: "98.21", VITAMIN: "0.99", WAX: "0.8"}, (OLIVE, WAX, VITAMIN), True),
        # Equal weights have no order.
        ("US", {OLIVE: "50", WAX: "50"}, (WAX, OLIVE), True),
        ("US", {OLIVE: "51", WAX: "49"}, (WAX, OLIVE), False),
        # Source: 21 CFR 701.3(f)(3): colours in any order after the rest, or by weight.
        ("US", {OLIVE: "90", RUST: "6", WAX: "4"}, (OLIVE, WAX, RUST), True),
        ("US", {OLIVE: "90", RUST: "6", WAX: "4"}, (OLIVE, RUST, WAX), True),
        ("US", {OLIVE: "90", RUST: "2", WAX: "8"}, (OLIVE, RUST, WAX), False),
    ],
)
def test_order_may_differ_only_where_any_order_is_allowed(
    market: Market,
    parts: Mapping[Constituent, str],
    printed: tuple[Constituent, ...],
    *,
    is_true: bool,
) -> None:
    approved = Approved(market=market, names=names(*printed))

    ways = [way for way, _ in said(approved, found(parts, market))]

    assert ways == ([] if is_true else ["order"])


def test_order_names_each_pair_and_its_shares() -> None:
    approved = Approved(market="US", names=names(WAX, OLIVE))

    assert said(approved, found({OLIVE: "50.004", WAX: "49.996"}, "US")) == [
        (
            "order",
            "The approved label lists Beeswax before Olea Europaea (Olive) Fruit Oil, and lot "
            "ABCD-EFG holds more Olea Europaea (Olive) Fruit Oil (50.004 %) than Beeswax "
            "(49.996 %).",
        )
    ]


def test_order_is_judged_by_the_names_that_both_have() -> None:
    approved = Approved(market="US", names=names(OLIVE, VITAMIN, WAX))

    assert [way for way, _ in said(approved, found({OLIVE: "80", WAX: "20"}, "US"))] == ["missing"]


def test_missing_and_extra_ingredients_are_named() -> None:
    approved = Approved(market="EU", names=names(OLIVE, WAX, VITAMIN, Constituent("Zinc Oxide")))

    assert said(approved, found(BALM)) == [
        ("missing", "The approved label names Zinc Oxide, and lot ABCD-EFG holds none."),
        (
            "extra",
            "Lot ABCD-EFG holds Rosmarinus Officinalis Leaf Extract (0.4 %), and the approved "
            "label does not name it.",
        ),
    ]


def test_colour_after_may_contain_is_neither_missing_nor_extra() -> None:
    # Source: 21 CFR 701.3(g); Regulation (EC) 1223/2009, article 19(1)(g), "may contain".
    shades = frozenset({"CI 77491", "CI 77499"})
    approved = Approved(market="US", names=names(OLIVE, WAX), may_contain=shades)

    assert said(approved, found({OLIVE: "90", WAX: "9", RUST: "1"}, "US")) == []
    assert said(approved, found({OLIVE: "90", WAX: "10"}, "US")) == []


LAVENDER = {OLIVE: "80", WAX: "19.5", Constituent("Scent", kind="fragrance"): "0.5"}
SCENTED = (*names(OLIVE, WAX), "Parfum")


def test_allergen_above_its_threshold_must_be_named() -> None:
    # Source: Regulation (EU) 2023/1545: more than 0.001 % leave-on, 0.01 % rinse-off.
    balm = found(LAVENDER, allergens={"Linalool": "0.175"})
    soap = found(LAVENDER, allergens={"Limonene": "1.3"}, use="rinse-off")
    approved = Approved(market="EU", names=SCENTED)

    assert said(approved, balm) == [
        (
            "allergen",
            "Lot ABCD-EFG holds 0.175 % of the allergen Linalool, above the 0.001 % from which a "
            "leave-on product must name it, and the approved label does not.",
        )
    ]
    assert "above the 0.01 % from which a rinse-off product" in said(approved, soap)[0][1]
    assert said(Approved(market="EU", names=(*SCENTED, "Linalool")), balm) == []


def test_allergen_named_although_it_is_below_its_threshold_is_no_lie() -> None:
    approved = Approved(market="EU", names=(*SCENTED, "Linalool", "Limonene"))

    assert said(approved, found(LAVENDER, allergens={"Linalool": "0.175"})) == []


@pytest.mark.parametrize(
    ("organic", "claim", "is_true"),
    [
        # Source: 7 CFR 205.301(a) to (c), 205.302(b): the percentage is rounded down.
        ("100", "100 percent organic", True),
        ("99.99", "100 percent organic", False),
        ("95", "organic", True),
        ("94.99", "organic", False),
        ("70", "made with organic", True),
        ("69.99", "made with organic", False),
        ("69.99", None, True),
    ],
)
def test_claim_needs_its_share(organic: str, claim: Any, *, is_true: bool) -> None:
    rest = 100 - Fraction(organic)
    parts = {OLIVE: organic} | ({WAX: str(rest)} if rest else {})
    approved = Approved(market="US", names=names(*parts), claim=claim)

    ways = {way for way, _ in said(approved, found(parts, "US"))}

    assert ways == (set() if is_true else {"organic"})


def test_lapsed_claim_percentage_mark_and_front_name_each_get_their_sentence() -> None:
    approved = Approved(
        market="US",
        names=names(OLIVE, WAX),
        organic_names=frozenset({OLIVE.inci_name}),
        claim="made with organic",
        organic_percent=80,
        made_with=("Olea Europaea Fruit Oil",),
    )

    assert [sentence for _, sentence in said(approved, found({PLAIN_OLIVE: "80", WAX: "20"}))] == [
        'The approved label says "made with organic". The lot is 0 % organic, and "made with '
        'organic" needs at least 70 %.',
        "The approved label states 80 % organic ingredients, and lot ABCD-EFG has 0 %.",
        "The approved label marks Olea Europaea Fruit Oil as organic, and in lot ABCD-EFG not all "
        "of it is.",
        "The approved label says it is made with organic Olea Europaea Fruit Oil, and lot "
        "ABCD-EFG holds no organic Olea Europaea Fruit Oil.",
    ]
    assert said(approved, found({OLIVE: "80", WAX: "20"})) == []


def test_organic_and_other_form_of_one_oil_bar_the_word_organic() -> None:
    # Source: 7 CFR 205.301(f)(7); "made with" products are not barred, 205.301(c).
    parts = {OLIVE: "96", PLAIN_OLIVE: "4"}

    called = Approved(market="US", names=names(OLIVE), claim="organic")
    made_with = replace(called, claim="made with organic")

    assert [way for way, _ in said(called, found(parts, "US"))] == ["organic"]
    assert said(made_with, found(parts, "US")) == []


@pytest.mark.parametrize(
    ("states", "best_before", "sentence"),
    [
        ({"fixed_date": date(2027, 5, 25)}, date(2027, 5, 25), None),
        (
            {"fixed_date": date(2027, 5, 25)},
            date(2027, 5, 24),
            "The approved label is printed with 25 May 2027, and lot ABCD-EFG keeps only to "
            "24 May 2027.",
        ),
        ({"keeps_months": 18}, date(2028, 5, 25), None),
        (
            {"keeps_months": 18},
            date(2027, 3, 15),
            "The approved label says it keeps 18 months, which from 25 Nov 2026 is to "
            "25 May 2028, and lot ABCD-EFG keeps only to 15 Mar 2027.",
        ),
        # Source: Regulation (EC) 1223/2009, article 19(1)(c): up to 30 months a date.
        ({"gives_only_opened_months": True, "opened_months": 12}, date(2029, 5, 26), None),
        (
            {"gives_only_opened_months": True, "opened_months": 12},
            date(2029, 5, 25),
            "The approved label gives only the months after opening (12M), which is allowed "
            "above 30 months, and lot ABCD-EFG keeps only to 25 May 2029.",
        ),
    ],
)
def test_date_must_not_be_earlier_than_the_label_says(
    states: dict[str, Any], best_before: date, sentence: str | None
) -> None:
    approved = Approved(market="EU", names=names(*BALM), **states)

    got = said(approved, found(BALM, best_before=best_before))

    assert got == ([("date", sentence)] if sentence else [])


def test_labels_printed_with_a_later_date_are_untrue() -> None:
    lot = found(BALM, best_before=date(2027, 3, 15), printed_until=date(2027, 11, 25))

    assert said(Approved(market="EU", names=names(*BALM)), lot) == [
        (
            "date",
            "Labels already printed for it say 25 Nov 2027, and lot ABCD-EFG keeps only to "
            "15 Mar 2027.",
        )
    ]


@pytest.mark.parametrize(
    ("promised", "average", "sentence"),
    [
        ("60", "60", None),
        ("60", "60.2", None),
        (
            # Source: NIST Handbook 133 (2026), 2.3.3: 2 oz (56 g) is tested as 56.699 g.
            "56.699",
            "56.5",
            f"The approved label says 2 oz (56 g), which promises 56.7{THIN}g; the 40 units of "
            f"this run hold 56.5{THIN}g on average, 0.2{THIN}g short.",
        ),
    ],
)
def test_contents_must_be_supported_by_the_average_fill(
    promised: str, average: str, sentence: str | None
) -> None:
    approved = Approved(
        market="US", names=names(*BALM), contents="2 oz (56 g)", promised_g=Fraction(promised)
    )

    got = said(approved, found(BALM, "US", average_g=Fraction(average), units=40))

    assert got == ([("contents", sentence)] if sentence else [])


@pytest.mark.parametrize(
    ("best_before", "needs"),
    # Source: Regulation (EC) 1223/2009, article 19(1)(c): above 30 months the open jar.
    [(date(2029, 5, 25), False), (date(2029, 5, 26), True), (None, True)],
)
def test_open_jar_replaces_the_date_above_thirty_months(
    best_before: date | None, *, needs: bool
) -> None:
    assert durability_needs_jar(MADE, best_before) is needs


@pytest.mark.parametrize(
    ("parts", "close"),
    [
        # Common practice, no source: a weighing is rarely better than 1 % of its weight.
        ({OLIVE: "50", WAX: "50"}, 1),
        ({OLIVE: "50.2", WAX: "49.8"}, 1),
        ({OLIVE: "50.3", WAX: "49.7"}, 0),
        # At not more than one per cent the order is free anyway.
        ({OLIVE: "98.4", VITAMIN: "0.8", ROSEMARY: "0.8"}, 0),
    ],
)
def test_neighbours_that_weighing_may_turn_over_are_pointed_out(
    parts: Mapping[Constituent, str], close: int
) -> None:
    assert len(close_neighbours(found(parts, "US").declaration)) == close


@pytest.mark.parametrize("states", [{"fixed_date": date(2027, 3, 15)}, {"keeps_months": 3}, {}])
def test_dates_that_a_lot_bears_out_to_the_day_are_true(states: dict[str, Any]) -> None:
    approved = Approved(market="EU", names=names(*BALM), **states)
    lot = found(
        BALM,
        best_before=date(2027, 3, 15),
        dated=date(2027, 3, 15),
        printed_until=date(2027, 3, 15),
    )

    assert said(approved, lot) == []


def test_each_date_a_day_too_late_is_told() -> None:
    approved = Approved(market="EU", names=names(*BALM), fixed_date=date(2027, 3, 16))
    lot = found(
        BALM,
        best_before=date(2027, 3, 15),
        dated=date(2027, 3, 16),
        printed_until=date(2027, 3, 16),
    )

    assert [sentence for _, sentence in said(approved, lot)] == [
        "The approved label is printed with 16 Mar 2027, and lot ABCD-EFG keeps only to 15 Mar "
        "2027.",
        "The lot is dated 16 Mar 2027, and lot ABCD-EFG keeps only to 15 Mar 2027.",
        "Labels already printed for it say 16 Mar 2027, and lot ABCD-EFG keeps only to 15 Mar "
        "2027.",
    ]


def test_lot_of_which_nothing_says_how_long_it_keeps_bears_out_no_date() -> None:
    approved = Approved(market="EU", names=names(*BALM), keeps_months=18)

    assert said(approved, found(BALM, best_before=None)) == [
        (
            "date",
            "The approved label says it keeps 18 months, which from 25 Nov 2026 is to 25 May "
            "2028, and nothing says how long lot ABCD-EFG keeps.",
        )
    ]


def test_months_after_opening_alone_are_judged_only_where_the_law_knows_the_open_jar() -> None:
    # Regulation (EC) 1223/2009, article 19(1)(c); the US has no such mark.
    markets: dict[Market, list[str]] = {"EU": ["date"], "UK": ["date"], "US": []}
    for market, ways in markets.items():
        lot = found(BALM, market)
        approved = Approved(
            market=market, names=lot.declaration.names, gives_only_opened_months=True
        )
        assert [way for way, _ in said(approved, lot)] == ways


@pytest.mark.parametrize(
    ("has_mark", "is_borne_out", "told"),
    [
        (False, False, []),
        (True, True, []),
        # Directive 76/211/EEC: the mark stands for the three rules of the packers.
        (True, False, ["The approved label carries the e mark, and no fill check of the run of "
                       "lot ABCD-EFG supports it."]),
    ],
)  # fmt: skip
def test_e_mark_needs_a_fill_check(has_mark: bool, is_borne_out: bool, told: list[str]) -> None:  # noqa: FBT001 -- columns of the table
    approved = Approved(market="EU", names=names(*BALM), has_e_mark=has_mark)

    assert [one for _, one in said(approved, found(BALM, supports_e_mark=is_borne_out))] == told


def test_weight_is_not_judged_before_it_is_promised_and_measured() -> None:
    plain = Approved(market="EU", names=names(*BALM))

    assert said(plain, found(BALM, average_g=Fraction(1))) == []
    assert said(replace(plain, promised_g=Fraction(60)), found(BALM)) == []


def test_short_weight_of_a_formula_is_told_of_what_a_unit_would_hold() -> None:
    approved = Approved(
        market="EU", names=names(*BALM), contents="60 g", promised_g=Fraction("60.001")
    )
    tried = replace(found(BALM, average_g=Fraction("59.999")), lot="")

    assert said(approved, tried) == [
        (
            "contents",
            f"The approved label says 60 g, which promises 60.01{THIN}g; a unit would hold "
            f"59.99{THIN}g on average, 0.01{THIN}g short.",
        )
    ]


@pytest.mark.parametrize(
    ("today", "told"),
    [
        # 7 CFR 205.303(b)(2), 205.304(b)(2): the certifier's name below the handler's.
        ("Certified by Fell Organic", []),
        ("Certified by Tarn Organic",
         ["The approved label says “Certified by Fell Organic”, and Set-up now gives “Certified by "
          "Tarn Organic” for the workshop."]),
        ("", ["The approved label says “Certified by Fell Organic”, and Set-up now gives no "
              "certifier for the workshop."]),
    ],
)  # fmt: skip
def test_certifier_on_the_label_is_the_one_of_today(today: str, told: list[str]) -> None:
    line = "Certified by Fell Organic"
    approved = Approved(market="EU", names=names(*BALM), certifier_line=line)

    assert [one for _, one in said(approved, found(BALM, certifier_line=today))] == told
    unsaid = replace(approved, certifier_line="")
    assert said(unsaid, found(BALM, certifier_line=today)) == []


def test_label_nobody_approved_and_a_formula_are_called_what_they_are() -> None:
    label = Approved(market="EU", names=names(OLIVE, WAX, VITAMIN), called="label")
    tried = replace(found({OLIVE: "80", WAX: "19", ROSEMARY: "1"}), lot="")

    assert [sentence for _, sentence in said(label, tried)] == [
        "The label names Tocopherol, and what is tried holds none.",
        "What is tried holds Rosmarinus Officinalis Leaf Extract (1 %), and the label does not "
        "name it.",
    ]


def test_another_name_of_the_same_ingredient_makes_no_label_untrue() -> None:
    """A US label may stand by the glossary's name: what is in the tin is the same."""
    approved = Approved(
        market="US",
        names=names(OLIVE, WAX),
        organic_names=frozenset({OLIVE.inci_name}),
        may_contain=frozenset({"CI 77491"}),
    )
    lot = found({OLIVE: "90", WAX: "10"}, "US")

    assert lot.declaration.names != approved.names
    assert said(approved, lot) == []
    plain = said(approved, found({PLAIN_OLIVE: "90", WAX: "10"}, "US"))
    assert [way for way, _ in plain] == ["organic"]


def test_front_name_may_be_the_common_one_in_any_case_and_needs_some_of_it_in_the_lot() -> None:
    oil = Constituent("Olea Europaea Fruit Oil", common_name="Olive Oil", is_organic=True)
    approved = Approved(market="EU", names=names(oil, WAX), made_with=("olive oil",))

    assert said(approved, found({oil: "80", WAX: "20"})) == []
    gone = found({PLAIN_OLIVE: "80", WAX: "20"})
    gone = replace(gone, composition={**gone.composition, oil: Fraction()})
    assert [way for way, _ in said(approved, gone)] == ["organic"]


def test_percentage_may_be_met_exactly_and_no_claim_is_judged_where_none_is_made() -> None:
    approved = Approved(market="EU", names=names(OLIVE, WAX), organic_percent=80)
    lot = found({OLIVE: "80", WAX: "20"})

    assert said(approved, lot) == []
    assert [way for way, _ in said(replace(approved, organic_percent=81), lot)] == ["organic"]
    claims: tuple[Category | None, ...] = ("none", "below 70", None)
    for claim in claims:
        assert said(replace(approved, claim=claim, organic_percent=None), lot) == []


@pytest.mark.parametrize(
    ("way", "is_in_the_list"),
    # 21 CFR 701.3(n): a sticker with the new list of ingredients mends the list alone.
    [("order", True), ("missing", True), ("extra", True), ("allergen", True),
     ("organic", False), ("date", False), ("contents", False)],
)  # fmt: skip
def test_sticker_with_a_new_list_mends_the_list_alone(way: Way, *, is_in_the_list: bool) -> None:
    assert Difference(way, "A.").is_in_the_list is is_in_the_list


def test_difference_is_decided_about_word_for_word() -> None:
    ones = [Difference("order", "A."), Difference("extra", "C.")]

    assert covered_by(ones, ["C.", "A.", "B."])
    assert not covered_by(ones, ["A."])
    assert covered_by([], [])


def test_colour_printed_only_as_may_contain_belongs_in_the_list_of_the_lot_that_holds_it() -> None:
    # Regulation (EC) 1223/2009, article 19(1)(g); 21 CFR 701.3(g).
    lot = found({OLIVE: "98", RUST: "2"}).declaration

    assert colours_for_the_list([OLIVE.inci_name], ["CI 77491", "CI 77499"], lot, "L") == [
        "Lot L holds CI 77491 (2 %), which the label gives only after “may contain”. That is for "
        "colours of other batches or shades: what is in this one belongs in the list itself."
    ]
    assert colours_for_the_list(["CI 77491"], ["CI 77491"], lot, "L") == []
    assert colours_for_the_list([], [], lot, "L") == []


def test_two_that_are_close_are_named_with_shares_that_tell_them_apart() -> None:
    lot = found({OLIVE: "50.001", WAX: "49.999"})

    assert close_neighbours(lot.declaration) == [
        "Olea Europaea Fruit Oil (50.001 %) and Cera Alba (49.999 %) are so close that their order "
        "may turn over from lot to lot, and the label would then no longer match. Set their "
        "shares in "
        "the formula further apart."
    ]
    # Exactly a hundredth of the greater apart is far enough.
    assert close_neighbours(found({OLIVE: "50", WAX: "49.5"}).declaration) == []
