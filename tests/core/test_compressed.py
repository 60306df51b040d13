"""What is compressed on its way to the browser, and what is not."""

import gzip
from pathlib import Path

import pytest
from django.conf import settings
from django.test import Client

from tests import make
from workshop.core.models import Role

pytestmark = pytest.mark.django_db
STYLE = Path(settings.BASE_DIR) / "static/css/tarebook.css"
ZIP = {"accept-encoding": "gzip, br"}


@pytest.fixture
def maker(client: Client) -> Client:
    client.force_login(make.user(Role.MAKER))
    return client


def test_page_is_packed_for_whoever_can_unpack_it(maker: Client) -> None:
    packed = maker.get("/kettle/", headers=ZIP)
    plain = maker.get("/kettle/")

    assert packed.headers["Content-Encoding"] == "gzip"
    assert "Accept-Encoding" in packed.headers["Vary"]
    assert "<h1" in gzip.decompress(packed.content).decode()
    assert "Content-Encoding" not in plain.headers
    assert len(packed.content) < len(plain.content) / 2


def test_style_is_packed_and_comes_out_whole(client: Client) -> None:
    answer = client.get("/static/css/tarebook.css", headers=ZIP)

    assert answer.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(answer.getvalue()) == STYLE.read_bytes()


def test_part_of_a_style_is_sent_as_it_was_asked_for(client: Client) -> None:
    answer = client.get("/static/css/tarebook.css", headers={**ZIP, "range": "bytes=0-9"})

    assert (answer.status_code, answer.getvalue()) == (206, STYLE.read_bytes()[:10])
    assert "Content-Encoding" not in answer.headers


def test_picture_is_sent_as_it_lies(client: Client) -> None:
    answer = client.get("/static/mark.svg", headers=ZIP)

    assert "Content-Encoding" not in answer.headers
    assert answer.getvalue().startswith(b"<svg")


def test_refusal_is_sent_plain(maker: Client) -> None:
    answer = maker.get("/kettle/K-0/weigh/", headers=ZIP)

    assert answer.status_code == 404
    assert "Content-Encoding" not in answer.headers
