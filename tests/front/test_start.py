"""An empty book says what it lacks before its first label, and can be left and taken up."""

import pytest
from django.test import Client
from django.urls import reverse

from tests import make
from tests.formulas import build as formulas
from workshop.core.models import Role, User, Workshop
from workshop.front import start
from workshop.ledger.models import Item, ItemKind

pytestmark = pytest.mark.django_db


def owner(client: Client) -> Client:
    client.force_login(make.user(Role.OWNER))
    return client


def next_key() -> str:
    return start.missing(start.steps())[0].key


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
    assert next_key() == "materials"
    make.item()
    assert next_key() == "packaging"
    make.item(ItemKind.PACKAGING)
    assert next_key() == "kettle"


def test_draft_is_gone_on_with_and_not_begun_again() -> None:
    draft = formulas.draft()
    step = next(one for one in start.steps() if one.key == "formula")

    assert step.address == reverse("formulas:version", args=[draft.pk])
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


def test_every_step_leads_to_a_page(client: Client) -> None:
    owner(client)
    for step in start.steps():
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
