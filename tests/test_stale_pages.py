"""Two people change the same thing at once: nobody's change is undone without being told."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django.asserts import assertContains

from tests import make
from tests.dispatch import build as dispatch
from tests.goods_in import build as goods_in
from tests.kettle import build as kettle
from tests.packing import build as packing
from tests.page_forms import form_of
from tests.test_access import client_of
from workshop.core import services as core
from workshop.core.models import Role, User, Workshop

pytestmark = pytest.mark.django_db
TOLD = "This was changed since you opened the page"


@dataclass(frozen=True)
class Case:
    """A page, what one person changes on it, and what another one changed meanwhile."""

    make: Callable[[], str]
    theirs: dict[str, Any]
    mine: dict[str, Any]
    # The words by which their change is told.
    told: str


def a_customer() -> str:
    return reverse("dispatch:change-customer", args=[dispatch.customer().pk])


def a_supplier() -> str:
    return reverse("goods_in:edit-supplier", args=[goods_in.supplier().pk])


def the_workshop() -> str:
    core.save_workshop(
        name="Ostrell Balms", address="1 Mill Lane", contact="", certified_by="", market="US",
        by=make.user(), at=make.NOON,
    )  # fmt: skip
    assert Workshop.objects.exists()
    return reverse("core:workshop")


def a_material() -> str:
    return reverse("materials:edit-material", args=[goods_in.material().code])


def a_certificate() -> str:
    item, of = goods_in.material("Cedar oil"), goods_in.supplier()
    goods_in.material("Olive oil")
    return reverse("goods_in:edit-certificate", args=[goods_in.certificate(of, [item]).pk])


def a_packaging() -> str:
    return reverse("materials:edit-material", args=[goods_in.packaging().code])


def a_product() -> str:
    return reverse("packing:change-product", args=[packing.product().item.code])


def a_kettle() -> str:
    return reverse("kettle:kettle", args=[kettle.kettle().pk])


def a_scale() -> str:
    return reverse("kettle:scale", args=[kettle.scale().pk])


def a_draft() -> str:
    return reverse("formulas:draft", args=[kettle.version(approved=False).pk])


def a_person() -> str:
    return reverse("core:person", args=[make.user(Role.PACKER).pk])


CASES = {
    "customer": Case(a_customer, {"telephone": "0555 1"}, {"contact": "Ada"}, "Telephone was –"),
    "supplier": Case(a_supplier, {"email": "a@example.org"}, {"note": "Closed in May"}, "Email"),
    "workshop": Case(
        the_workshop, {"contact": "0555 2"}, {"certified_by": "Evergrain"}, "is now 0555 2"
    ),
    "material": Case(a_material, {"storage": "Cool, dark"}, {"common_name": "oil"}, "Storage was"),
    "packaging": Case(a_packaging, {"name": "Tin 60 mL"}, {"code": "TIN-X"}, "Name was Tin"),
    "certificate": Case(a_certificate, {"scope": "Oils"}, {"number": "EXAMPLE-9"}, "Scope was –"),
    "product": Case(a_product, {"directions": "Rub in"}, {"identity": "balm"}, "Directions was –"),
    "kettle": Case(a_kettle, {"capacity_g": "8 kg"}, {"name": "Big one"}, "Capacity g was 9"),
    "scale": Case(a_scale, {"capacity_g": "5 kg"}, {"name": "Bench"}, "Capacity g was 6"),
    "draft": Case(a_draft, {"lines-0-share": "61"}, {"note": "Softer"}, "% in phase"),
    "person": Case(a_person, {"last_name": "Vole"}, {"first_name": "Ida"}, "Last name was –"),
}


def owner(name: str) -> tuple[User, Client]:
    person = make.user(Role.OWNER, first_name=name)
    return person, client_of(person)


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_page_opened_before_somebody_saved_tells_who_changed_what(case: Case) -> None:
    address = case.make()
    (_, mine), (_, theirs) = owner("Mara"), owner("Tove")
    stale = form_of(mine.get(address)) | case.mine
    saved = theirs.post(address, form_of(theirs.get(address)) | case.theirs)
    assert saved.status_code == 302

    refused = mine.post(address, stale)

    assert refused.status_code == 200
    assertContains(refused, TOLD)
    assertContains(refused, case.told)
    if case.make is not a_draft:  # the lines of a draft have no history of their own
        assertContains(refused, "(Tove, ")
    kept, typed = form_of(mine.get(address)), form_of(refused)
    assert all(kept[name] == [value] for name, value in as_shown(case.theirs).items())
    assert all(typed[name] == [value] for name, value in as_shown(case.mine).items())

    assert mine.post(address, typed).status_code == 302


def as_shown(values: dict[str, str]) -> dict[str, str]:
    return {name: value for name, value in values.items() if not value.endswith(" kg")}


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_second_press_of_the_same_button_is_no_conflict(case: Case) -> None:
    """A double press sends the same twice; nobody else is undone by it."""
    address, (_, mine) = case.make(), owner("Mara")
    sent = form_of(mine.get(address)) | case.mine
    assert mine.post(address, sent).status_code == 302
    if "code" not in case.mine:  # a new code is a new address
        assert mine.post(address, sent).status_code == 302


def test_items_of_a_certificate_and_parts_of_a_blend_are_told_too() -> None:
    address = a_certificate()
    (_, mine), (_, theirs) = owner("Mara"), owner("Tove")
    page = form_of(mine.get(address))
    every = [value for value, _ in mine.get(address).context["form"].fields["items"].choices]
    theirs.post(address, page | {"items": every})

    refused = mine.post(address, page | {"scope": "Oils"})

    assertContains(refused, "is now Cedar oil, Olive oil (Tove")
