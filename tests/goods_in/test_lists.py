"""Every page of the room costs the same queries with one row and with many."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from tests import make
from tests.goods_in import build
from workshop.goods_in.models import Certificate, Receipt, Supplier
from workshop.materials.services.materials import BlendComponent

pytestmark = pytest.mark.django_db


def rows(count: int) -> tuple[Supplier, Certificate, Receipt]:
    """A supplier with so many certificates, materials, receipts, and lots on the last one."""
    of = build.supplier()
    items = [build.material(parts=[BlendComponent("A", Decimal(100))]) for _ in range(count)]
    papers = [build.certificate(of, items) for _ in range(count)]
    for item in items:
        build.receipt(build.arrived(item, certificate=papers[0]), of=of)
    for _ in range(count):
        build.supplier()
        build.packaging()
    return of, papers[0], build.receipt(*(build.arrived(item) for item in items), of=of)


PAGES: dict[str, Callable[[Supplier, Certificate, Receipt], str]] = {
    "home": lambda *_: "/goods-in/",
    "new": lambda *_: "/goods-in/new/",
    "choices": lambda *_: "/goods-in/new/choices/",
    "receipt": lambda of, paper, receipt: f"/goods-in/receipts/{receipt}/",
    "tags": lambda of, paper, receipt: f"/goods-in/receipts/{receipt}/tag-sheet.pdf",
    "suppliers": lambda *_: "/goods-in/suppliers/",
    "supplier": lambda of, paper, receipt: f"/goods-in/suppliers/{of.pk}/",
    "certificates": lambda *_: "/goods-in/certificates/",
    "certificate": lambda of, paper, receipt: f"/goods-in/certificates/{paper.pk}/",
    "certificate form": lambda of, paper, receipt: f"/goods-in/certificates/{paper.pk}/change/",
    "materials": lambda *_: "/materials/",
}


@pytest.mark.parametrize("name", PAGES)
def test_page_costs_the_same_queries_with_one_row_and_many(client: Client, name: str) -> None:
    client.force_login(make.user())
    counts = []

    for count in (1, 4):
        address = PAGES[name](*rows(count))
        client.get(address)
        with CaptureQueriesContext(connection) as queries:
            answer: Any = client.get(address)
        assert answer.status_code == 200
        counts.append(len(queries))

    assert counts[0] == counts[1]
    assert counts[1] <= 12


def test_lists_are_found_by_name(client: Client) -> None:
    client.force_login(make.user())
    build.supplier("Low Fen Distillery")
    build.supplier("Ostrey Oils")
    build.material("Argan oil")
    build.packaging()

    suppliers = client.get("/goods-in/suppliers/", {"q": "fen"}).context["list"].page
    by_inci = client.get("/materials/", {"q": "ARGAN"}).context["list"].page
    boxes = client.get("/materials/", {"kind": "packaging"}).context["list"].page

    assert [row.name for row in suppliers] == ["Low Fen Distillery"]
    assert [row.name for row in by_inci] == ["Argan oil"]
    assert [row.kind for row in boxes] == ["packaging"]
