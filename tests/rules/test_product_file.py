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
    is_complete_report,
    missing_headings,
)
from workshop.rules.product_file.notification import FIELDS, missing_fields
from workshop.rules.product_file.online_offer import Offer, as_schema, missing_in_offer
from workshop.rules.product_file.small_business import EXCLUDED, kept_until, small_business


def test_report_has_the_fourteen_headings_of_annex_i_and_the_file_five_items() -> None:
    # Regulation (EC) 1223/2009, Annex I: ten of part A, four of part B; article 11(2)(a) to (e).
    assert [one.number for one in ANNEX_I if one.part == "A"] == list(range(1, 11))
    assert [one.number for one in ANNEX_I if one.part == "B"] == list(range(1, 5))
    assert [one.rule for one in ARTICLE_11] == [f"article 11(2)({one})" for one in "abcde"]
    assert len({one.key for one in HEADINGS}) == len(HEADINGS)


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
    assert not small_business([1000, 1000, 1000], makes=[kind]).is_small


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


def test_notification_without_what_its_market_asks_is_incomplete() -> None:
    # A photograph of the packaging is asked for in Great Britain, and where legible in the EU.
    for market, asked in (("UK", ["picture"]), ("EU", [])):
        values = {one.key: "x" for one in FIELDS[market] if one.key != "picture"}
        assert [one.key for one in missing_fields(market, values)] == asked
    assert len(missing_fields("US", {})) == len(FIELDS["US"]) - 1


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
    ],
)
def test_online_offer_shows_the_least(left_out: dict[str, str], letters: list[str]) -> None:
    lacks = missing_in_offer(Offer(**{**vars(FULL), **left_out}))

    assert [one[-4:-1] for one in lacks] == letters


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
