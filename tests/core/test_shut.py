"""Nothing behind the sign-in stays in a browser; what everybody may have does."""

import pytest
from django.test import Client
from django.urls import reverse

from tests import make
from workshop.core.models import Role

pytestmark = pytest.mark.django_db


@pytest.fixture
def packer(client: Client) -> Client:
    client.force_login(make.user(Role.PACKER))
    return client


@pytest.mark.parametrize(
    ("address", "status"),
    [
        ("/", 200),
        ("/dispatch/", 200),
        ("/scan/?q=nothing", 200),
        ("/no-such-page/", 404),
        ("/set-up/people/new/", 403),
        ("/files/1/", 404),
    ],
)
def test_answer_behind_the_sign_in_is_kept_nowhere(
    packer: Client, address: str, status: int
) -> None:
    answer = packer.get(address)

    kept = {part.strip() for part in answer["Cache-Control"].split(",")}
    assert answer.status_code == status
    assert {"no-store", "private"} <= kept


def test_refused_form_is_kept_nowhere(packer: Client) -> None:
    answer = packer.post(reverse("front:account"), {"old_password": "x"})

    assert "no-store" in answer["Cache-Control"]


def test_page_for_a_stranger_is_kept_nowhere(client: Client) -> None:
    assert "no-store" in client.get("/sign-in/")["Cache-Control"]
    assert "no-store" in client.get("/stock/")["Cache-Control"]


def test_stylesheet_may_be_kept(client: Client) -> None:
    answer = client.get("/static/css/tarebook.css")
    answer.close()

    assert "no-store" not in answer["Cache-Control"]
    assert "public" in answer["Cache-Control"]
