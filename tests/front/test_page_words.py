"""An inspector finds pages by words and by the number of a rule."""

import pytest
from django.test import Client
from django.urls import reverse

from tests import make
from tests.trace.rooms import complaint
from workshop.core.models import Role
from workshop.front.page_words import PAGES, pages_by_words
from workshop.front.search import find


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("asked", "page"),
    [
        ("mass balance", "Mass balances"),
        ("Organic", "Inspector&#x27;s pack"),
        ("205.403(d)(4)", "Mass balances"),
        ("7 CFR 205.272", "Kettles and their cleaning"),
        ("205.606", "Organic schemes and their lists"),
        ("mock recall", "Recall drills"),
        ("recipes", "Formulas"),
        ("inventory", "Stock on hand"),
        ("audit trail", "Change log"),
        ("customer", "Customers"),
    ],
)
def test_words_and_rule_numbers_lead_to_pages(client: Client, asked: str, page: str) -> None:
    client.force_login(make.user(Role.INSPECTOR))
    found = client.get(reverse("front:scan"), {"q": asked}).content.decode()

    assert page in found


@pytest.mark.django_db
def test_what_names_no_page_leads_to_none(client: Client) -> None:
    client.force_login(make.user(Role.INSPECTOR))

    assert client.get(reverse("front:scan"), {"q": "1205.4030"}).context["pages"] == []


@pytest.mark.django_db
def test_every_page_named_opens_and_none_is_offered_that_is_shut(client: Client) -> None:
    make.item()
    for role in Role:
        person = make.user(role)
        client.force_login(person)
        offered = {page.address for name, *_ in PAGES for page in pages_by_words(name, person)}
        assert offered
        for address in offered:
            assert client.get(address, follow=True).status_code == 200, (role, address)


@pytest.mark.django_db
def test_who_reads_only_is_not_led_to_a_form() -> None:
    asked = "receive a delivery"

    assert not pages_by_words(asked, make.user(Role.INSPECTOR))
    assert [one.name for one in pages_by_words(asked, make.user(Role.PACKER))] == [
        "Receive a delivery"
    ]


@pytest.mark.django_db
def test_people_are_found_by_any_part_of_their_names_and_complaints_by_who_called() -> None:
    person = make.user(Role.PACKER)
    person.first_name, person.last_name = "Greta", "Holm"
    person.save()
    called = complaint(told_by="Mr Ashby, at the market")

    assert [(hit.what, hit.name) for hit in find("holm greta").containing] == [
        ("person", "Greta Holm")
    ]
    assert [hit.name for hit in find("ashby").containing] == [called.reference]
