"""Allergens of a lot: its certificate beats the material's usual figures; dates and use decide."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from tests import make
from tests.formulas import build as formulas
from tests.labels import build
from tests.packing import build as packing
from workshop.core.errors import ActionRefused
from workshop.core.markets import (
    Market,
)
from workshop.labels.approval import print_status
from workshop.labels.content.label import label_for
from workshop.labels.services import designs, versions
from workshop.ledger.models import Item, Lot
from workshop.materials.fragrance_allergens import shares_in_lots
from workshop.materials.models import AllergenContent, Constituency
from workshop.materials.services import data_sheets as figures
from workshop.rules.allergens.thresholds import allergens_to_name

pytestmark = pytest.mark.django_db

ON = date(2026, 11, 25)


def contents(of: Item | Lot, **shares: str) -> None:
    found = {name.replace("_", " "): Decimal(share) for name, share in shares.items()}
    figures.save_contents(of, found, by=make.user(), at=make.NOON)


def scent() -> Lot:
    return build.oil("Scent", constituency=Constituency.FRAGRANCE)


@pytest.mark.parametrize(
    ("percent", "share", "named"),
    [
        # Source: worked from Regulation (EU) 2023/1545: more than 0.001 % of a leave-on product.
        ("35", "0.175", ["Linalool"]),
        ("0.2", "0.001", []),
        ("0.3", "0.0015", ["Linalool"]),
    ],
)
def test_allergen_is_named_above_its_threshold(percent: str, share: str, named: list[str]) -> None:
    build.workshop(market=Market.EU)
    lavender = scent()
    contents(lavender.item, Linalool=percent)

    lot = build.finished([(build.oil("Oil"), 995), (lavender, 5)])

    assert shares_in_lots([lot])[lot.pk] == {"Linalool": Fraction(share) / 100}
    assert list(label_for(lot).declaration.names) == ["Oil", "Parfum", *named]


def test_certificate_of_the_lot_beats_the_usual_figures() -> None:
    build.workshop(market=Market.EU)
    lavender = scent()
    contents(lavender.item, Linalool="35", Limonene="1")
    contents(lavender, Linalool="0.1")

    lot = build.finished([(build.oil("Oil"), 995), (lavender, 5)])

    assert shares_in_lots([lot])[lot.pk] == {"Linalool": Fraction(5, 1_000_000)}


def test_allergens_of_all_sources_add_up_through_what_was_made_here() -> None:
    build.workshop(market=Market.EU)
    tea_tree, lemon = scent(), scent()
    contents(tea_tree, Limonene="1")
    contents(lemon, Limonene="65")
    infusion = build.bulk([(build.oil("Oil"), 998), (tea_tree, 2)])

    lot = build.finished([(infusion, 9998), (lemon, 2)])

    # 0.2 % x 1 % in the infusion, 0.02 % x 65 % of lemon.
    assert shares_in_lots([lot])[lot.pk]["Limonene"] == Fraction(2, 1000) / 100 * Fraction(
        9998, 10000
    ) + Fraction(2, 10000) * Fraction(65, 100)


@pytest.mark.parametrize(
    ("on", "named"),
    # Source: Regulation (EU) 2023/1545: new entries for what is placed on the market after
    # 31 July 2026; linalool was on the earlier list.
    [(date(2026, 7, 31), ["Linalool"]), (date(2026, 8, 1), ["Linalool", "Linalyl Acetate"])],
)
def test_new_entries_are_named_from_the_day_the_product_is_placed(
    on: date, named: list[str]
) -> None:
    build.workshop(market=Market.EU)
    lavender = scent()
    contents(lavender, Linalool="35", Linalyl_Acetate="30")

    lot = build.finished([(build.oil("Oil"), 995), (lavender, 5)])

    assert list(label_for(lot, on=on).declaration.names) == ["Oil", "Parfum", *named]


def test_us_names_fragrance_by_one_word_and_no_allergen() -> None:
    # Source: 21 CFR 701.3(a).
    build.workshop(market=Market.US)
    lavender = scent()
    contents(lavender, Linalool="35")

    lot = build.finished([(build.oil("Oil"), 995), (lavender, 5)])

    assert list(label_for(lot).declaration.names) == ["Oil", "Fragrance"]
    assert list(label_for(lot, "EU").declaration.names) == ["Oil", "Parfum", "Linalool"]


def test_prohibited_substance_stops_the_label() -> None:
    build.workshop(market=Market.EU)
    bad = scent()
    AllergenContent.objects.create(lot=bad, name="Butylphenyl Methylpropional", share=Decimal(1))

    with pytest.raises(ActionRefused, match="is prohibited in cosmetics"):
        label_for(build.finished([(build.oil("Oil"), 995), (bad, 5)]))


def test_formula_gives_a_draft_before_anything_is_made() -> None:
    build.workshop(market=Market.EU)
    owner, lavender = make.user(), scent()
    contents(lavender.item, Linalool="35")
    infusion = formulas.approved(
        formulas.line(90, build.oil("Oil").item), formulas.line(10, build.oil("Herb").item)
    ).formula.item
    melt = formulas.approved(
        formulas.line("99.5", infusion), formulas.line("0.5", lavender.item)
    ).formula.item
    product = packing.product(bulk=melt)

    build.sheet(product, "EU")
    draft = versions.draft_from_formula(product, "EU", by=owner, at=make.NOON)

    assert [(e.name, e.share) for e in print_status.entries_of(draft)] == [
        ("Oil", Fraction("0.8955")),
        ("Herb", Fraction("0.0995")),
        ("Parfum", Fraction("0.005")),
        ("Linalool", Fraction("0.00175")),
    ]
    assert versions.approve(draft, by=owner, at=make.NOON).state == "approved"


def test_rinse_off_threshold_follows_the_formulas_behind_the_lot() -> None:
    # Source: Regulation (EU) 2023/1545: 0.01 % of what is rinsed off; 0.01 % itself is not above.
    shares = {"Limonene": Fraction(1, 10_000)}

    assert list(allergens_to_name(shares, "leave-on", ON)) == ["Limonene"]
    assert list(allergens_to_name(shares, "rinse-off", ON)) == []


@pytest.mark.parametrize(
    ("naming", "names"),
    [
        # Both namings are in use; source of the arithmetic: see the rule.
        ("added", ["Olive Oil", "Aqua", "Sodium Hydroxide"]),
        ("saponified", ["Sodium Olivate", "Aqua", "Glycerin", "Olive Oil"]),
    ],
)
def test_soap_is_named_by_what_went_in_or_what_came_out(naming: str, names: list[str]) -> None:
    build.workshop(market=Market.EU)
    olive = build.oil("Olive Oil", soap_name="Sodium Olivate")
    figures.save_soap_value(olive.item, Decimal(190), by=make.user(), at=make.NOON)
    water = build.oil("Aqua", constituency=Constituency.WATER)
    lye = build.oil("Sodium Hydroxide", constituency=Constituency.ALKALI)
    lot = build.finished([(olive, 600), (water, 160), (lye, 77)])
    designs.save_design(lot.item.product, {"soap_naming": naming}, by=make.user(), at=make.NOON)

    label = label_for(Lot.objects.get(pk=lot.pk))

    assert list(label.declaration.names) == names


def test_soap_without_a_saponification_value_says_what_to_enter() -> None:
    build.workshop(market=Market.EU)
    olive = build.oil("Olive Oil", soap_name="Sodium Olivate")
    lye = build.oil("Sodium Hydroxide", constituency=Constituency.ALKALI)
    lot = build.finished([(olive, 600), (lye, 77)])
    design = {"soap_naming": "saponified"}
    designs.save_design(lot.item.product, design, by=make.user(), at=make.NOON)

    with pytest.raises(ActionRefused, match="enter the saponification value of Olive Oil"):
        label_for(Lot.objects.get(pk=lot.pk))
