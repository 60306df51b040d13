"""An inspector finds pages by words and by the number of a rule."""

import pytest
from django.test import Client
from django.urls import reverse

from tests import make
from workshop.core.models import Role


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("asked", "page"),
    [
        ("mass balance", "Mass balances"),
        ("Organic", "Inspector&#x27;s pack"),
        ("205.403(d)(4)", "Mass balances"),
        ("7 CFR 205.272", "Kettles and their cleaning"),
        ("205.606", "Organic schemes and their lists"),
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
