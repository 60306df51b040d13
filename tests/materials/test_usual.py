"""The table of usual materials holds together, and what is taken is the workshop's own.

Figures are held against published limits: Codex CXS 210 for coconut and sunflower oil, the sum of
shares below the whole, check digits of CAS numbers (CAS Registry, "Check Digit Verification").
"""

import csv
from decimal import Decimal
from typing import Any

import pytest
from django.urls import reverse
from stdnum import casrn

from tests import make
from workshop.core.models import Role
from workshop.ledger.models import Item
from workshop.materials.models import AllergenContent, soap_value_of
from workshop.materials.services.usual import take_usual
from workshop.materials.usual import TABLES, named, search, usual_materials
from workshop.rules.allergens.annex_iii import ALLERGENS
from workshop.rules.ingredients.composition import Constituent
from workshop.rules.ingredients.declaration import label_name

SOURCED = {
    "inci_name": "names_source",
    "cas": "cas_source",
    "density_g_per_ml": "density_source",
    "soap_value": "soap_source",
    "melting_to_c": "melting_source",
    "shelf_life_months": "shelf_life_source",
}


def rows() -> list[dict[str, str]]:
    with (TABLES / "usual.csv").open(encoding="utf-8", newline="") as table:
        return list(csv.DictReader(table))


def test_there_are_enough_of_every_group_and_each_has_one_name() -> None:
    groups = {one.group for one in usual_materials().values()}

    assert len(usual_materials()) == len(rows()) >= 120
    assert {"oil", "butter", "wax", "essential oil", "clay", "herb", "emulsifier"} <= groups
    assert {"preservative", "alkali", "water"} <= groups


def test_every_figure_has_its_source_or_is_marked_unread() -> None:
    lacking = [
        (row["name"], figure)
        for row in rows()
        for figure, source in SOURCED.items()
        if bool(row[figure]) and not row[source]
    ]

    assert lacking == []


def test_every_cas_number_has_its_check_digit() -> None:
    assert [row["name"] for row in rows() if row["cas"] and not casrn.is_valid(row["cas"])] == []


def test_ranges_go_upwards_and_lie_where_fats_lie() -> None:
    for one in usual_materials().values():
        figures = one.figures
        if figures.soap_value:
            assert 50 <= (figures.soap_least or figures.soap_value) <= figures.soap_value, one.name
            assert figures.soap_value <= (figures.soap_most or figures.soap_value) <= 400, one.name
        if figures.melting_from_c is not None and figures.melting_to_c is not None:
            assert figures.melting_from_c <= figures.melting_to_c, one.name


@pytest.mark.parametrize(
    ("name", "least", "most"), [("coconut oil", 248, 265), ("sunflower oil", 187, 194)]
)
def test_saponification_values_are_those_of_codex_cxs_210(name: str, least: int, most: int) -> None:
    found = named(name)
    assert found is not None
    assert (found.figures.soap_least, found.figures.soap_most) == (Decimal(least), Decimal(most))


def test_allergens_are_entries_of_annex_iii_and_leave_room() -> None:
    known = {one.name for one in ALLERGENS}
    for one in usual_materials().values():
        assert set(one.allergens) <= known, (one.name, set(one.allergens) - known)
        assert sum(one.allergens.values()) <= 100, one.name


def test_names_are_told_by_market_as_its_law_has_them() -> None:
    """21 CFR 701.3(c) adds the common name; a colour is its index number in the EU."""
    water, red = named("water (distilled)"), named("iron oxide red")
    assert water
    assert red
    of = [
        Constituent(water.figures.inci_name, water.figures.common_name, "water"),
        Constituent(red.figures.inci_name, red.figures.common_name, "colourant"),
    ]

    assert [label_name(one, "US") for one in of] == ["Water", "Iron Oxides (CI 77491)"]
    assert [label_name(one, "EU") for one in of] == ["Aqua", "CI 77491"]


def test_search_takes_a_part_of_a_word_and_several() -> None:
    assert "Coconut oil" in [one.name for one in search("coco")]
    assert all(one.group == "essential oil" for one in search("essential oil lav"))
    assert search("moonlight") == []


@pytest.mark.django_db
def test_every_one_can_be_taken_and_taken_twice_is_one() -> None:
    owner = make.user(Role.OWNER)
    for one in usual_materials().values():
        take_usual(one, by=owner, at=make.NOON)
    lavender = named("lavender oil")
    assert lavender is not None
    again = take_usual(lavender, by=owner, at=make.NOON)

    assert Item.objects.count() == len(usual_materials())
    assert AllergenContent.objects.filter(item=again).count() == len(lavender.allergens) > 0
    assert soap_value_of(Item.objects.get(name="Olive oil")) is not None


@pytest.mark.django_db
def test_owner_ticks_and_takes_several(signed_in: Any) -> None:
    client = signed_in(Role.OWNER)
    page = client.get(reverse("materials:usual"), {"q": "coco"}).content.decode()
    client.post(reverse("materials:usual"), {"take": ["Coconut oil", "Beeswax, yellow", "Moon"]})
    after = client.get(reverse("materials:usual"), {"q": "coco"}).content.decode()

    assert 'value="Coconut oil"' in page
    assert set(Item.objects.values_list("name", flat=True)) == {"Coconut oil", "Beeswax, yellow"}
    assert 'value="Coconut oil"' not in after
