"""Printed rolls: lots of packaging that carry an approved label, and what makes them useless."""

from typing import Any

import pytest
from django.urls import reverse
from pytest_django.asserts import assertContains

from tests import make
from tests.goods_in import build as goods
from tests.labels import build
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.labels.approval.roll_stock import rolls_of
from workshop.labels.models import LabelVersion, Roll
from workshop.labels.services import versions
from workshop.labels.services.rolls import note_roll
from workshop.ledger.models import Lot

pytestmark = pytest.mark.django_db


def approved(lot: Lot) -> LabelVersion:
    owner = make.user()
    draft = versions.draft_from_lot(lot, "US", by=owner, at=make.NOON)
    return versions.approve(draft, by=owner, at=make.NOON)


@pytest.fixture
def salve() -> Lot:
    build.workshop()
    lot = build.balm(identity="Hand salve")
    build.sheet(lot.item.product)
    return lot


def printed() -> Lot:
    return goods.lot(goods.packaging(), grams=340)


def test_roll_stands_with_the_label_it_carries(signed_in: Any, salve: Lot) -> None:
    version, roll, client = approved(salve), printed(), signed_in()
    page = reverse("labels:roll", args=[version.pk])
    form = client.get(page).context["form"]
    for _ in range(2):  # sent twice
        client.post(page, {"lot": roll.pk, "token": form["token"].value()})
    assert Roll.objects.get().version == version
    assertContains(client.get(reverse("labels:version", args=[version.pk])), "340 in stock")


def test_later_row_counts(salve: Lot) -> None:
    """What was said wrongly is said again; the first row stays in the log."""
    roll, owner = printed(), make.user()
    first = approved(salve)
    second = versions.draft_from_lot(salve, "US", by=owner, at=make.NOON)
    second.name = "Hand balm"
    second.save()
    second = versions.approve(second, by=owner, at=make.NOON)
    note_roll(roll, first, by=owner, at=make.NOON, token="a")
    note_roll(roll, second, by=owner, at=make.NOON, token="b")
    assert rolls_of([first, second]) == {second.pk: [roll]}
    assert Roll.objects.count() == 2


def test_new_label_tells_which_rolls_are_of_no_use(signed_in: Any, salve: Lot) -> None:
    first, roll, owner = approved(salve), printed(), make.user()
    note_roll(roll, first, by=owner, at=make.NOON, token="a")
    draft = versions.draft_from_lot(salve, "US", by=owner, at=make.NOON)
    client = signed_in()
    answer = client.post(reverse("labels:approve", args=[draft.pk]), follow=True)
    assertContains(answer, f"{roll} (340)")
    page = client.get(reverse("labels:version", args=[first.pk]))
    assertContains(page, "carries a retired label")


def test_only_printed_packaging_of_an_approved_label(salve: Lot) -> None:
    version, owner = approved(salve), make.user()
    with pytest.raises(ActionRefused, match="come in as packaging"):
        note_roll(salve, version, by=owner, at=make.NOON, token="a")
    draft = versions.draft_from_lot(salve, "US", by=owner, at=make.NOON)
    draft.name = "Another"
    draft.save()
    with pytest.raises(ActionRefused, match="approve the label first"):
        note_roll(printed(), draft, by=owner, at=make.NOON, token="b")
    with pytest.raises(ActionRefused, match="Only an owner"):
        note_roll(printed(), version, by=make.user(Role.PACKER), at=make.NOON, token="c")
