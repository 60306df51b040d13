"""No field of the receipt form, however oddly filled in, leads to a server error."""

from decimal import Decimal
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests import make
from tests.goods_in import build
from workshop.core.models import Role
from workshop.goods_in.forms import ReceiptForm, ReceiptLineForm
from workshop.goods_in.models import Receipt
from workshop.goods_in.suppliers.forms import CertificateForm
from workshop.ledger.models import Operation
from workshop.materials.forms import BlendPartForm, MaterialForm

pytestmark = pytest.mark.django_db
KNOWN_TO_BITE = [
    *("", "0", "-1", "1e400", "NaN", "Infinity", "9" * 40, "\x00", "1,234", "½ lb", "3 x", "²"),
    *("0001-01-01", "9999-12-31", "2026-02-30", "on", "1 " * 30, "٣ kg", "5 kg\n", "'; --"),
]
ODD = st.one_of(
    st.text(max_size=70),
    st.sampled_from(KNOWN_TO_BITE),
    st.integers().map(str),
    st.dates().map(str),
    st.decimals().map(str),
)
FEW = settings(
    max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None
)
ROWS = ["lines-TOTAL_FORMS", "lines-INITIAL_FORMS", "lines-MAX_NUM_FORMS"]
RECEIPT = [
    *ReceiptForm.base_fields,
    *(f"lines-{row}-{name}" for row in (0, 1) for name in ReceiptLineForm.base_fields),
    *ROWS,
    "repeats_agreed",
    "another",
    "again",
]
MATERIAL = [
    *MaterialForm.base_fields,
    *(f"parts-0-{name}" for name in BlendPartForm.base_fields),
    "parts-TOTAL_FORMS",
]


def a_receipt() -> dict[str, Any]:
    """A page that would be taken as it is."""
    line = {
        "item": build.material(max_arrival_c=Decimal(8)).name,
        "supplier_lot": "S1",
        "quantity_as_written": "5 kg",
        "checks_note": "Cool enough.",
    }
    return {
        "supplier": build.supplier().pk,
        "received_on": "2026-01-05",
        "token": "t",
        "lines-TOTAL_FORMS": "2",
        "lines-INITIAL_FORMS": "0",
        **{f"lines-0-{name}": value for name, value in line.items()},
    }


def send(client: Client, address: str, page: dict[str, Any]) -> int:
    """The answer's status, with everything the post wrote taken back."""
    point = transaction.savepoint()
    status = client.post(address, page).status_code
    transaction.savepoint_rollback(point)
    return status


@pytest.fixture
def owner(client: Client) -> Client:
    client.force_login(make.user(Role.OWNER))
    return client


@FEW
@given(odd=st.dictionaries(st.sampled_from(RECEIPT), ODD, min_size=1, max_size=4))
def test_receipt_with_odd_fields_is_answered(owner: Client, odd: dict[str, str]) -> None:
    assert send(owner, "/goods-in/new/", a_receipt() | odd) in (200, 302)


@FEW
@given(
    page=st.dictionaries(st.sampled_from(RECEIPT), ODD),
    file=st.binary(max_size=80).map(lambda body: b"%PDF-" + body),
)
def test_receipt_of_nothing_but_odd_fields_is_answered(
    owner: Client, page: dict[str, Any], file: bytes
) -> None:
    page["lines-0-analysis"] = SimpleUploadedFile("a\\b/..pdf", file)

    assert send(owner, "/goods-in/new/", page) in (200, 302)


@FEW
@given(page=st.dictionaries(st.sampled_from(MATERIAL), ODD))
def test_material_of_odd_fields_is_answered(owner: Client, page: dict[str, str]) -> None:
    plain = {"code": "A", "name": "A", "inci_name": "A", "constituency": "plain"}

    assert send(owner, "/materials/new/", plain | page) in (200, 302)


@FEW
@given(page=st.dictionaries(st.sampled_from(list(CertificateForm.base_fields)), ODD))
def test_certificate_of_odd_fields_is_answered(owner: Client, page: dict[str, str]) -> None:
    plain = {"supplier": build.supplier().pk, "certifier": "A", "number": "B"}

    assert send(owner, "/goods-in/certificates/new/", plain | page) in (200, 302)


@FEW
@given(item=ODD, quantity=ODD)
def test_reading_of_odd_words_is_answered(owner: Client, item: str, quantity: str) -> None:
    for asked in (item, build.material().name):
        answer = owner.get("/goods-in/new/reading/", {"item": asked, "quantity": quantity})
        assert answer.status_code == (400 if "\x00" in asked + quantity else 200)


@FEW
@given(code=st.text(min_size=1, max_size=20), page=ODD)
def test_odd_addresses_are_answered(owner: Client, code: str, page: str) -> None:
    for address in ("receipts/{}/", "lots/{}/release/", "lots/{}/tag.pdf", "materials/{}/"):
        safe = code.replace("/", "-").replace("\n", "-").replace("..", "-").strip(".") or "-"
        assert owner.get("/goods-in/" + address.format(safe)).status_code in (200, 301, 400, 404)
    assert owner.get("/materials/", {"page": page, "q": page}).status_code in (200, 400)


def test_the_plain_page_of_this_test_is_taken(owner: Client) -> None:
    owner.post("/goods-in/new/", a_receipt())

    assert Receipt.objects.count() == 1
    assert Operation.objects.count() == 1
