"""The inspector's pack: made in steps, sealed by its digest, the draw repeated by anybody."""

import zipfile
from hashlib import sha256
from io import BytesIO
from typing import Any

import pikepdf
import pytest
from django.test import Client
from django.urls import reverse

from tests import make
from tests.audit.whole_book import whole_book
from tests.labels import paper
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.ledger.models import Lot, OperationKind
from workshop.organic.models import Pack
from workshop.organic.pack.sections import SECTIONS
from workshop.rules.organic.random_sample import drawn

pytestmark = pytest.mark.django_db


@pytest.fixture
def inspector(client: Client) -> Client:
    client.force_login(make.user(Role.INSPECTOR))
    return client


def made(client: Client, **sent: str) -> Pack:
    """A pack from the button to its end, as the page goes on by itself."""
    asked = {"first": make.iso(-30), "last": make.iso(0), "seed": "spring", "token": new_token()}
    address = client.post(reverse("organic:packs"), asked | sent).headers["Location"]
    for _ in range(60):
        if "/making/" not in address:
            break
        address = client.post(address).headers.get("Location", address)
    return Pack.objects.order_by("pk").last() or Pack()


def test_pack_holds_every_part_with_an_index_and_is_known_by_its_digest(
    inspector: Client,
) -> None:
    whole_book()
    lot = Lot.objects.get(origin__kind=OperationKind.PACKING)
    pack = made(inspector, lots=lot.shown_code.lower())
    sent: Any = inspector.get(reverse("organic:pack-file", args=[pack.pk]))
    got = b"".join(sent.streaming_content)
    with zipfile.ZipFile(BytesIO(got)) as archive:
        names, whole = archive.namelist(), archive.read("pack.pdf")

    assert sha256(got).hexdigest() == pack.sha256
    assert sha256(whole).hexdigest() == pack.paper_sha256
    assert pack.drawn == drawn([lot.shown_code], "spring", 3) == pack.chosen
    assert len(names) == len(set(names)) == pack.file_count
    for section in SECTIONS:
        assert any(section.key in name for name in names)
    assert [name for name in names if name.startswith("batch-records/")]
    assert [name for name in names if name.startswith("files/")]
    with pikepdf.open(BytesIO(whole)) as document:
        first = pikepdf.new()
        first.pages.append(document.pages[0])
    kept = BytesIO()
    first.save(kept)
    index = paper.text(kept.getvalue())
    for rule in ("205.403(d)(4)", "205.272", "205.201(a)(3)"):
        assert rule in index


def test_pack_is_told_from_any_other_file(inspector: Client) -> None:
    pack = made(inspector)
    address = reverse("organic:packs")

    assert "It is" in inspector.get(address, {"sha256": pack.sha256}).content.decode()
    assert "It is none of them" in inspector.get(address, {"sha256": "0" * 64}).content.decode()
    assert made(inspector, token=pack.token) == pack


def test_odd_wishes_get_a_sentence(inspector: Client) -> None:
    asked = {
        "first": make.iso(0),
        "last": make.iso(-1),
        "seed": "a",
        "lots": "NOPE, 9",
        "token": "t",
    }
    page = inspector.post(reverse("organic:packs"), asked).content.decode()

    assert "The period ends before it begins." in page
    assert "No finished lot is called" in page
    assert inspector.get(reverse("organic:pack-work", args=["nobody"])).status_code == 404
    assert not Pack.objects.exists()


def test_maker_reads_packs_and_makes_none(client: Client) -> None:
    client.force_login(make.user(Role.MAKER))

    assert client.get(reverse("organic:packs")).status_code == 200
    assert client.post(reverse("organic:packs"), {}).status_code == 403
