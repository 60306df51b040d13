"""An empty book says what it lacks before its first label, and can be left and taken up."""

import pytest
from django.test import Client
from django.urls import reverse

from tests import make
from tests.formulas import build as formulas
from workshop.core.models import Role, User, Workshop
from workshop.front import first_hour
from workshop.goods_in.models import Supplier
from workshop.kettle.models import Kettle, Scale
from workshop.ledger.models import Item, ItemKind

pytestmark = pytest.mark.django_db


def owner(client: Client) -> Client:
    client.force_login(make.user(Role.OWNER))
    return client


def next_key() -> str:
    return first_hour.missing(first_hour.steps())[0].key


def test_untouched_book_opens_on_its_first_steps_for_an_owner_alone(client: Client) -> None:
    opened = owner(client).get(reverse("front:today"))
    stayed = client.get(reverse("front:today"), {"stay": "1"})
    User.objects.all().delete()
    client.force_login(make.user(Role.MAKER))
    maker = client.get(reverse("front:today"))

    assert opened["Location"] == reverse("front:start")
    assert (stayed.status_code, maker.status_code) == (200, 200)


def test_steps_go_on_from_what_is_there() -> None:
    assert next_key() == "workshop"
    Workshop.objects.create(pk=1, name="Wren Hollow Works", address="Port Ellery")
    assert next_key() == "formula"
    formulas.approved()
    assert next_key() == "workplace"


def test_draft_is_gone_on_with_and_not_begun_again() -> None:
    draft = formulas.draft()
    step = next(one for one in first_hour.steps() if one.key == "formula")

    assert step.address == f"{reverse('formulas:version', args=[draft.pk])}?first=1"
    assert not step.is_done


def test_saved_thing_offers_the_next_step_and_nobody_but_the_owner_is_asked(
    client: Client,
) -> None:
    owner(client)
    saved = client.post("/materials/new/packaging/", {"name": "Tin, 60 g"}, follow=True)
    later = client.get(reverse("materials:home"))

    assert Item.objects.get().code == "TIN-60-G"
    assert "Next, the workshop" in saved.content.decode()
    assert "Next, the workshop" not in later.content.decode()


WORKPLACE = {
    "packaging-name": "Tin, 60 g",
    "kettle-name": "Small kettle",
    "kettle-capacity_g": "2500",
    "kettle-material": "stainless steel",
    "scale-name": "Bench scale",
    "scale-division_g": "0.5",
    "scale-capacity_g": "6 kg",
    "supplier-name": "Ostrey Oils Cooperative",
}


def test_workplace_is_kept_in_one_page_and_leads_on(client: Client) -> None:
    Workshop.objects.create(pk=1, name="Wren Hollow Works", address="Port Ellery")
    version = formulas.approved()
    Item.objects.of_kind(ItemKind.PACKAGING).delete()

    kept = owner(client).post("/start/workplace/?first=1", WORKPLACE)

    product = f"/packing/products/new/?bulk={version.formula.item_id}&first=1"
    assert kept["Location"] == product
    assert (Kettle.objects.get().is_active, Scale.objects.get().capacity_g) == (True, 6000)
    assert (Supplier.objects.get().name, Item.objects.get(kind="packaging").code) == (
        "Ostrey Oils Cooperative",
        "TIN-60-G",
    )
    assert "Everything is there" in client.get("/start/workplace/").content.decode()


def test_fault_of_the_workplace_keeps_nothing_and_all_typing(client: Client) -> None:
    page = owner(client).post("/start/workplace/", {**WORKPLACE, "scale-division_g": "half"})

    said = page.content.decode()
    assert "is not a number" in said
    assert 'value="Ostrey Oils Cooperative"' in said
    assert [rows.count() for rows in (Kettle.objects, Supplier.objects, Item.objects)] == [0] * 3


def test_workplace_asks_only_for_what_is_not_there(client: Client) -> None:
    Supplier.objects.create(name="Ostrey Oils Cooperative")

    page = owner(client).get("/start/workplace/").content.decode()

    assert 'name="kettle-name"' in page
    assert 'name="supplier-name"' not in page


def test_saving_leads_on_only_from_a_first_step(client: Client) -> None:
    sent = {"name": "Low Fen", "email": "", "is_active": "on"}
    away = owner(client).post("/goods-in/suppliers/new/", sent)
    on = client.post("/goods-in/suppliers/new/?first=1", {**sent, "name": "Ostrey"})

    assert away["Location"].startswith("/goods-in/suppliers/")
    assert on["Location"] == "/set-up/workshop/?first=1"


def test_every_step_leads_to_a_page(client: Client) -> None:
    owner(client)
    for step in first_hour.steps():
        assert client.get(step.address).status_code == 200, step.key


def test_materials_are_found_and_taken_in_place(client: Client) -> None:
    page = owner(client).get(reverse("front:start"), {"q": "coco"}).content.decode()
    back = client.post(reverse("materials:usual"), {"take": "Coconut oil", "then": "start"})

    assert 'value="Coconut oil"' in page
    assert back["Location"] == reverse("front:start")
    assert Item.objects.get().name == "Coconut oil"


def test_today_leads_back_until_the_first_label(client: Client) -> None:
    make.item()
    page = owner(client).get(reverse("front:today")).content.decode()

    assert reverse("front:start") in page
    assert "missing before the first label" in page
