"""A formula on one page: what is typed becomes a draft, with its bulk and its new materials."""

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from tests import make
from tests.goods_in import build as goods
from workshop.core.models import Role
from workshop.formulas.models import Formula, Version
from workshop.ledger.models import Item, ItemKind
from workshop.rules.quantities.whole_shares import whole_shares


@given(st.lists(st.decimals("0.001", "100000", places=3), min_size=1, max_size=30))
def test_shares_are_whole_and_near_what_they_are_of(amounts: list[Decimal]) -> None:
    shares = whole_shares(amounts)

    assert sum(shares) == 100
    for amount, share in zip(amounts, shares, strict=True):
        assert abs(share - amount * 100 / sum(amounts)) <= Decimal("0.0001")


def typed(**values: str) -> dict[str, str]:
    usual = {"name": "Plain balm", "amounts": "percent", "expected_loss": "2", "token": "t"}
    return {**usual, "shelf_life_months": "12", "steps": "Melt.\n\nPour.", **values}


BALM = {"said_0": "Sunflower oil", "amount_0": "60", "said_2": "beeswax, yellow", "amount_2": "20"}


@pytest.mark.django_db
def test_own_usual_and_new_materials_are_taken_in_place(signed_in: Any) -> None:
    client: Client = signed_in(Role.OWNER)
    own = goods.material("Sunflower oil")
    new = {"said_3": "Rye bran wax = Secale Cereale Wax", "amount_3": "20"}

    answer = client.post(reverse("formulas:whole"), typed(**BALM, **new))

    version = Version.objects.get()
    assert answer["Location"] == reverse("formulas:version", args=[version.pk])
    lines = list(version.lines.values_list("item__name", "share"))
    assert dict(lines) == {
        "Sunflower oil": Decimal(60),
        "Beeswax, yellow": Decimal(20),
        "Rye bran wax": Decimal(20),
    }
    assert version.lines.get(share=60).item == own
    assert list(version.steps.values_list("text", flat=True)) == ["Melt.", "Pour."]
    assert version.formula.item.name == "Plain balm"
    assert version.formula.item.kind == ItemKind.BULK


@pytest.mark.django_db
def test_grams_become_shares_and_a_second_press_does_nothing(signed_in: Any) -> None:
    client: Client = signed_in(Role.OWNER)
    for _ in range(2):
        client.post(reverse("formulas:whole"), typed(amounts="grams", **BALM))

    assert list(Version.objects.get().lines.values_list("share", flat=True)) == [75, 25]


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"said_4": "Moonlight", "amount_4": "5"}, "neither in the book nor a usual material"),
        ({"said_4": "Coconut oil"}, "Enter the amount."),
        ({"amount_4": "5"}, "Enter the ingredient."),
        ({"name": "plain balm"}, "already a formula"),
        ({"said_4": "Sunflower oil", "amount_4": "5"}, "twice"),
    ],
)
def test_fault_stands_beside_its_line_and_nothing_is_written(
    values: dict[str, str], sentence: str, signed_in: Any
) -> None:
    client: Client = signed_in(Role.OWNER)
    bulk = make.item(ItemKind.BULK, name="Another")
    Formula.objects.create(item=bulk, name="Plain balm")
    page = client.post(
        reverse("formulas:whole"), typed(**{"name": "Other balm"} | BALM | values)
    ).content.decode()

    assert sentence in page
    assert 'value="beeswax, yellow"' in page
    assert list(Item.objects.values_list("name", flat=True)) == ["Another"]


@pytest.mark.django_db
def test_once_approved_it_offers_a_batch_and_a_product(signed_in: Any) -> None:
    client: Client = signed_in(Role.OWNER)
    client.post(reverse("formulas:whole"), typed(amounts="grams", **BALM))
    version = Version.objects.get()
    client.post(reverse("formulas:approve", args=[version.pk]))

    page = client.get(reverse("formulas:version", args=[version.pk])).content.decode()

    assert f"{reverse('kettle:plan')}?version={version.pk}" in page
    assert f"{reverse('packing:new-product')}?bulk={version.formula.item_id}" in page
