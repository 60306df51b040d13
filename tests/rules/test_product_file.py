"""The file behind a product: its headings, the small-business test, notifications, offers."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from workshop.rules.errors import RuleError
from workshop.rules.product_file.headings import (
    ANNEX_I,
    ARTICLE_11,
    HEADINGS,
    MORE,
    SAFETY_REPORT,
    is_complete_report,
    missing_headings,
)
from workshop.rules.product_file.notification import FIELDS, missing_fields
from workshop.rules.product_file.online_offer import Offer, as_schema, missing_in_offer
from workshop.rules.product_file.small_business import (
    EXCLUDED,
    kept_until,
    listing_due_on,
    registration_due_on,
    small_business,
)


def test_report_has_the_fourteen_headings_of_annex_i_and_the_file_five_items() -> None:
    # Regulation (EC) 1223/2009, Annex I: ten of part A, four of part B; article 11(2)(a) to (e).
    assert [one.number for one in ANNEX_I if one.part == "A"] == list(range(1, 11))
    assert [one.number for one in ANNEX_I if one.part == "B"] == list(range(1, 5))
    assert [one.rule for one in ARTICLE_11] == [f"article 11(2)({one})" for one in "abcde"]
    assert [one.rule for one in ANNEX_I] == [
        *(f"Annex I, part A, {number}" for number in range(1, 11)),
        *(f"Annex I, part B, {number}" for number in range(1, 5)),
    ]
    # What no rule asks for names none.
    assert [one.rule for one in MORE] == ["", "", ""]
    assert len({one.key for one in HEADINGS}) == len(HEADINGS)


def test_report_as_a_whole_is_never_missing_beside_its_own_headings() -> None:
    nothing = [one.key for one in missing_headings(frozenset())]

    assert nothing == [one.key for one in HEADINGS if one.key != SAFETY_REPORT]
    assert missing_headings(frozenset(nothing)) == ()


def test_report_with_one_empty_heading_is_not_complete() -> None:
    every = frozenset(one.key for one in HEADINGS)

    assert is_complete_report(every)
    assert not is_complete_report(every - {"substances"})
    assert [one.rule for one in missing_headings(every - {"substances"})] == ["Annex I, part A, 7"]


@pytest.mark.parametrize(
    ("sales", "average", "is_small"),
    # The worked cases that a trade guild printed, before the adjustment for inflation.
    [
        ((1_100_000, 750_000, 850_000), 900_000, True),
        ((1_250_000, 950_000, 725_000), 975_000, True),
        ((950_000, 1_275_000, 850_000), 1_025_000, False),
        # Exactly the limit is not below it (21 U.S.C. 364h(a)).
        ((1_000_000, 1_000_000, 1_000_000), 1_000_000, False),
    ],
)
def test_small_business_by_the_average_of_three_years(
    sales: tuple[int, ...],
    average: int,
    is_small: bool,  # noqa: FBT001 -- a column of the table
) -> None:
    answer = small_business(sales)

    assert (answer.average_usd, answer.is_small) == (Fraction(average), is_small)


@pytest.mark.parametrize("kind", EXCLUDED)
def test_one_excluded_product_ends_the_exemption(kind: str) -> None:
    # 21 U.S.C. 364h(b)(1) to (4).
    answer = small_business([1000, 1000, 1000], makes=[kind])

    assert answer.average_usd == 1000
    assert answer.is_small is False
    assert small_business([1000, 1000, 1000]).average_usd == 1000


def test_other_than_three_years_is_refused() -> None:
    for sales in ([1, 2], [1, 2, 3, 4], [1, 2, -3]):
        with pytest.raises(RuleError, match="three years"):
            small_business(sales)
    with pytest.raises(RuleError, match="no kind of product"):
        small_business([1, 2, 3], makes=["soap"])


def test_file_is_kept_ten_years_after_the_last_lot() -> None:
    # Article 11(1).
    assert kept_until(date(2026, 11, 29)) == date(2036, 11, 29)
    assert kept_until(date(2028, 2, 29)) == date(2038, 2, 28)


def test_listing_is_updated_yearly_and_a_facility_renewed_every_two_years() -> None:
    # 21 U.S.C. 364c; yearly is second-hand.
    assert listing_due_on(date(2028, 2, 29)) == date(2029, 2, 28)
    assert registration_due_on(date(2028, 2, 29)) == date(2030, 2, 28)
    assert registration_due_on(date(2026, 11, 30)) == date(2028, 11, 30)


@pytest.mark.parametrize(
    ("sales", "makes", "limit", "told"),
    [
        ((1_100_000, 750_000, 850_001), (), 1_000_000,
         "On average 900,000 US dollars a year, below 1,000,000: registration"),
        ((0, 0, 0), (), 1_000_000, "On average 0 US dollars a year, below 1,000,000: registration"),
        ((1_000_000, 1_000_000, 1_000_000), (), 1_000_000,
         "On average 1,000,000 US dollars a year, not below 1,000,000: no small business."),
        # 21 U.S.C. 364h(a): adjusted for inflation; the figure here is made up.
        ((1_000_000, 1_000_000, 1_000_000), (), Decimal(1_234_567),
         "On average 1,000,000 US dollars a year, below 1,234,567: registration"),
        ((1, 1, 1), ("eye", "internal"), 1_000_000,
         "On average 1 US dollars a year, but it makes products that regularly touch the mucous "
         "membrane of the eye; products for internal use: the exemption does not hold."),
        ((2_000_000, 2_000_000, 2_000_000), ("eye",), 1_000_000,
         "On average 2,000,000 US dollars a year, not below 1,000,000: no small business."),
    ],
)  # fmt: skip
def test_answer_says_its_average_its_limit_and_why(
    sales: tuple[int, ...], makes: tuple[str, ...], limit: Decimal, told: str
) -> None:
    assert small_business(sales, makes=makes, limit_usd=limit).sentence.startswith(told)


def test_notification_without_what_its_market_asks_is_incomplete() -> None:
    # A photograph of the packaging is asked for in Great Britain, and where legible in the EU.
    for market, asked in (("UK", ["picture"]), ("EU", [])):
        values = {one.key: "x" for one in FIELDS[market] if one.key != "picture"}
        assert [one.key for one in missing_fields(market, values)] == asked
    assert len(missing_fields("US", {})) == len(FIELDS["US"]) - 1
    # Spaces are no entry.
    blank = {one.key: "x" for one in FIELDS["US"]} | {"brands": "  "}
    assert [one.key for one in missing_fields("US", blank)] == ["brands"]


FULL = Offer(
    name="Hand salve", identity="Balm", maker="Wren Hollow Works", maker_address="4 Quay Lane",
    maker_contact="hello@example.com", responsible="Fell & Ferry, 4 Wharf",
    responsible_contact="eu@example.com", gtin="9520000700607", picture="salve.png",
    warnings="Keep away from eyes.", needs_responsible=True, net_g=Decimal(60), origin="USA",
    ingredients="Ingredients: Cera Alba.", true_on="2026-11-30",
)  # fmt: skip


@pytest.mark.parametrize(
    ("left_out", "letters"),
    # Regulation (EU) 2023/988, article 19(a) to (d).
    [
        ({}, []),
        ({"maker_contact": "555-0100"}, ["(a)"]),
        ({"responsible": "", "responsible_contact": ""}, ["(b)", "(b)"]),
        ({"picture": "", "gtin": ""}, ["(c)", "(c)"]),
        ({"warnings": ""}, ["(d)"]),
        # A page or an e-mail address is electronic, a telephone is not.
        ({"maker_contact": "wren.example"}, []),
        ({"maker": ""}, ["(a)"]),
        ({"maker_address": ""}, ["(a)"]),
        ({"responsible": ""}, ["(b)"]),
        ({"responsible_contact": ""}, ["(b)"]),
        ({"identity": ""}, ["(c)"]),
        # The shop's own number identifies as well.
        ({"gtin": "", "sku": "HS-60"}, []),
    ],
)
def test_online_offer_shows_the_least(left_out: dict[str, str], letters: list[str]) -> None:
    lacks = missing_in_offer(Offer(**{**vars(FULL), **left_out}))

    assert [one[-4:-1] for one in lacks] == letters
    assert all("(Regulation (EU) 2023/988, article 19(" in one for one in lacks)


def test_maker_within_the_union_needs_no_responsible_person_beside_it() -> None:
    # Regulation (EU) 2023/988, article 19(b): where the maker is not established in the Union.
    own = replace(FULL, responsible="", responsible_contact="", needs_responsible=False)

    assert missing_in_offer(own) == ()


def test_offer_that_says_nothing_lacks_each_thing_once() -> None:
    assert [one.partition(" (")[0] for one in missing_in_offer(Offer(name=""))] == [
        "the maker’s name and postal address",
        "the maker’s electronic address",
        "a picture",
        "what kind of product it is",
        "an identifier",
        "warnings and safety information",
    ]


def test_offer_as_a_table_says_every_field_under_its_heading() -> None:
    offer = replace(
        FULL, net_text="2.11 oz (60 g)", allergens="Linalool", directions="Rub in.", sku="HS-60"
    )

    assert offer.rows() == [
        ("name", "Hand salve"),
        ("what it is", "Balm"),
        ("net contents", "2.11 oz (60 g)"),
        ("ingredients", "Ingredients: Cera Alba."),
        ("allergens", "Linalool"),
        ("directions", "Rub in."),
        ("warnings", "Keep away from eyes."),
        ("maker", "Wren Hollow Works, 4 Quay Lane"),
        ("maker's electronic address", "hello@example.com"),
        ("responsible person", "Fell & Ferry, 4 Wharf"),
        ("responsible person's electronic address", "eu@example.com"),
        ("country of origin", "USA"),
        ("GTIN", "9520000700607"),
        ("number", "HS-60"),
        ("picture", "salve.png"),
        ("true on", "2026-11-30"),
    ]
    assert ("maker", "4 Quay Lane") in replace(offer, maker="").rows()


@pytest.mark.parametrize(
    ("gtin", "key"),
    # schema.org has a property for each length of a GTIN; GS1 knows 8, 12, 13 and 14 digits.
    [("95200002", "gtin8"), ("952000070064", "gtin12"), ("9520000700607", "gtin13"),
     ("09520000700607", "gtin14"), ("952", "gtin"), ("95200007006", "gtin")],
)  # fmt: skip
def test_gtin_stands_under_the_property_of_its_length(gtin: str, key: str) -> None:
    assert as_schema(replace(FULL, gtin=gtin))[key] == gtin


def test_every_field_of_an_offer_stands_under_its_property_of_schema_org() -> None:
    # schema.org Product, Organization, PropertyValue: names from memory.
    offer = replace(
        FULL, net_text="60 g", allergens="Linalool", directions="Rub in.", sku="HS-60",
        description="For dry hands.",
    )  # fmt: skip

    assert as_schema(offer) == {
        "@context": "https://schema.org",
        "@type": "Product",
        "name": "Hand salve",
        "category": "Balm",
        "description": "For dry hands.",
        "sku": "HS-60",
        "gtin13": "9520000700607",
        "image": "salve.png",
        "countryOfOrigin": "USA",
        "manufacturer": {
            "@type": "Organization",
            "name": "Wren Hollow Works",
            "address": "4 Quay Lane",
            "email": "hello@example.com",
        },
        "weight": {"@type": "QuantitativeValue", "value": "60", "unitCode": "GRM"},
        "additionalProperty": [
            {"@type": "PropertyValue", "name": name, "value": value}
            for name, value in (
                ("ingredients", "Ingredients: Cera Alba."),
                ("allergens", "Linalool"),
                ("directions", "Rub in."),
                ("warnings", "Keep away from eyes."),
                ("net contents", "60 g"),
                ("responsible person", "Fell & Ferry, 4 Wharf"),
                ("responsible person's electronic address", "eu@example.com"),
                ("true on", "2026-11-30"),
            )
        ],
    }


def test_what_is_not_known_is_left_out_of_the_data_of_a_product() -> None:
    assert as_schema(Offer(name="Salve", maker="Wren")) == {
        "@context": "https://schema.org",
        "@type": "Product",
        "name": "Salve",
        "manufacturer": {"@type": "Organization", "name": "Wren"},
        "additionalProperty": [],
    }
    page = as_schema(replace(FULL, maker_contact="https://wren.example"))["manufacturer"]
    assert page["url"] == "https://wren.example"
    assert "email" not in page


@pytest.mark.parametrize(
    ("net_g", "value"),
    [
        ("60.0", "60"),
        ("4.25", "4.25"),
        ("0.125", "0.125"),
        ("1250", "1250"),
        ("12500.5", "12500.5"),
    ],
)
def test_weight_is_a_bare_number_with_no_zero_that_says_nothing(net_g: str, value: str) -> None:
    assert as_schema(replace(FULL, net_g=Decimal(net_g)))["weight"]["value"] == value


def test_offer_is_a_product_of_schema_org_with_its_gtin_and_its_weight_in_grams() -> None:
    # schema.org Product; UNECE Recommendation 20: GRM.
    found = as_schema(FULL)

    assert found["gtin13"] == "9520000700607"
    assert found["weight"] == {"@type": "QuantitativeValue", "value": "60", "unitCode": "GRM"}
    liquid = as_schema(replace(FULL, net_ml=Decimal("59.1")))
    assert liquid["size"] == {"@type": "QuantitativeValue", "value": "59.1", "unitCode": "MLT"}
    assert "weight" not in liquid
    assert {"@type": "PropertyValue", "name": "true on", "value": "2026-11-30"} in found[
        "additionalProperty"
    ]
