"""The scan box: whatever code is typed goes to the right place, or offers the near misses."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pytest_django.asserts import assertContains, assertRedirects

from tests import make
from tests.dispatch import build as dispatch
from tests.goods_in import build as goods_in
from tests.labels import build as labels
from tests.packing import build as packing
from tests.trace import build as traced
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.front.search import find
from workshop.labels.services.cartons import (
    print_cartons,
)
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, Lot
from workshop.rules.codes.lot_codes import LOT_ALPHABET, check_character, is_lot_code
from workshop.rules.codes.sscc import sscc

pytestmark = pytest.mark.django_db


@pytest.fixture
def inspector(client: Client) -> Client:
    client.force_login(make.user(Role.INSPECTOR))
    return client


def goes_to(text: str) -> str:
    """The one address that `text` leads to, or nothing."""
    exact = find(text).exact
    return exact[0].address if len(exact) == 1 else ""


def trace_of(lot: Lot) -> str:
    return reverse("trace:lot", args=[lot.code])


def spellings(lot: Lot) -> list[str]:
    spaced = f" {lot.code[:2]} {lot.code[2:5].lower()} {lot.code[5:]} "
    return [
        lot.code,
        lot.shown_code,
        lot.shown_code.lower(),
        lot.shown_code.replace("-", "–"),
        spaced,
    ]


def test_scan_finds_a_lot_however_its_code_is_spelled() -> None:
    lot = make.lot()

    assert {goes_to(text) for text in spellings(lot)} == {trace_of(lot)}


def test_scan_page_goes_straight_to_the_trace_of_a_lot(inspector: Client) -> None:
    lot = make.lot()

    answer = inspector.get(reverse("front:scan"), {"q": lot.shown_code})

    assertRedirects(answer, trace_of(lot))


def test_scan_finds_a_suppliers_lot_a_receipt_and_its_delivery_note() -> None:
    receipt = goods_in.receipt(
        goods_in.arrived(goods_in.material(), supplier_lot="MR-0117"), delivery_note="DN 45/9"
    )
    lot = receipt.lines.get().lot
    page = reverse("goods_in:receipt", args=[receipt.operation.reference])

    assert goes_to("mr-0117") == trace_of(lot)
    assert goes_to("dn 45/9") == page
    assert goes_to(receipt.operation.reference.lower()) == page
    assert goes_to(receipt.operation.reference.replace("-", " ")) == page


def test_scan_offers_both_lots_that_share_a_suppliers_lot(inspector: Client) -> None:
    item = goods_in.material("Beeswax")
    lots = [goods_in.line(item, supplier_lot="MR-0117").lot for _ in range(2)]

    answer = inspector.get(reverse("front:scan"), {"q": "MR-0117"})

    assertContains(answer, "“MR-0117” may mean 2 things")
    for lot in lots:
        assertContains(answer, trace_of(lot))


def test_scan_finds_dispatch_return_and_the_customers_reference() -> None:
    lot = dispatch.finished_lot()
    sent = dispatch.sent((lot, 5), customer_reference="PO-881")
    back = dispatch.back(sent, (lot, 1))
    page = reverse("dispatch:dispatch", args=[sent.operation.reference])

    assert goes_to(sent.operation.reference) == page
    assert goes_to("po-881") == page
    assert goes_to(back.operation.reference) == f"{page}#{back.operation.reference}"


def test_scan_finds_a_packing_run_a_batch_and_a_count() -> None:
    lot = packing.packed()
    salve = traced.batch((make.lot(), 10), grams=9)
    counted = ledger.count_lot(
        lot, counted=Decimal(39), reason="One dropped", by=make.user(), at=make.NOON, token="c"
    )

    assert goes_to(lot.origin.reference) == reverse("packing:run", args=[lot.origin.reference])
    assert goes_to(salve.origin.reference) == reverse("kettle:batch", args=[salve.origin.reference])
    assert goes_to(counted.reference) == reverse("ledger:lot", args=[lot.code])


@pytest.mark.parametrize(
    "text",
    [
        "9521234543213",
        "9 521234 543213",
        "09521234543213",
        "]E09521234543213",
        "(01)09521234543213",
    ],
)
def test_scan_finds_a_product_by_its_gtin(text: str) -> None:
    product = packing.product(gtin="9521234543213")

    assert goes_to(text) == reverse("packing:product", args=[product.item.code])


@pytest.mark.parametrize(
    "carton",
    [
        "(01)09521234543213(10){}",
        "(01)09521234543213(15)271231(10){}",
        "]C1010952123454321310{}",
        "https://example.org/01/09521234543213/10/{}",
    ],
)
def test_scan_finds_the_lot_in_a_cartons_code(carton: str) -> None:
    lot = dispatch.finished_lot()

    assert goes_to(carton.format(lot.code)) == trace_of(lot)


def test_scan_finds_the_lot_by_the_number_of_its_carton() -> None:
    labels.workshop(gs1_prefix="9521234")
    lot = labels.balm(is_small_package=True, gtin="9521234543213")
    print_cartons(lot, per_carton=12, cartons=3, by=make.user(), at=make.NOON, token=new_token())

    assert goes_to(f"]C100{sscc('9521234', 3)}") == trace_of(lot)


def test_scan_finds_a_suppliers_lot_in_a_cartons_code() -> None:
    line = goods_in.line(supplier_lot="LB-0423")

    assert goes_to("(01)09521234543213(10)LB-0423") == trace_of(line.lot)


def test_scan_says_what_is_wrong_with_a_gtin(inspector: Client) -> None:
    answer = inspector.get(reverse("front:scan"), {"q": "9521234543214"})

    assertContains(answer, "it would have to be 3. Check the number against the pack.")


def one_wrong(code: str) -> str:
    """The code with its first character misread."""
    others = [letter for letter in LOT_ALPHABET if letter != code[0]]
    return others[0] + code[1:]


def test_scan_offers_the_lot_that_a_misread_code_was_meant_as(inspector: Client) -> None:
    lot = make.lot(make.item(name="Beeswax"))
    misread = one_wrong(lot.code)
    assert not is_lot_code(misread)

    answer = inspector.get(reverse("front:scan"), {"q": misread})

    assertContains(answer, f"There is no lot “{misread}”. Is it this one?")
    assertContains(answer, trace_of(lot))
    assertContains(answer, "Beeswax")


def test_scan_offers_what_contains_the_text() -> None:
    calendula = make.item(ItemKind.MATERIAL, name="Calendula, dried")
    customer = dispatch.customer("Calender Street Chemist")
    line = goods_in.line(supplier_lot="2026/CALEN/7")

    found = find("calen")

    assert found.exact == found.near == []
    assert [hit.address for hit in found.containing] == [
        reverse("ledger:item", args=[calendula.code]),
        trace_of(line.lot),
        reverse("dispatch:customer", args=[customer.pk]),
    ]


def test_scan_says_that_nothing_is_called_so(inspector: Client) -> None:
    missing = "ABCDEF" + check_character("ABCDEF")

    answer = inspector.get(reverse("front:scan"), {"q": missing})

    assertContains(answer, f"Nothing in the book is called “{missing}”")


def test_scan_without_a_code_explains_itself(inspector: Client) -> None:
    assertContains(inspector.get(reverse("front:scan")), "Scan a code, or type one")
    assertContains(inspector.get(reverse("front:scan"), {"q": "  "}), "Scan a code")


@settings(max_examples=60, suppress_health_check=list(HealthCheck))
@given(st.text(max_size=40) | st.binary(max_size=30).map(lambda odd: odd.decode("latin-1")))
def test_scan_takes_anything_typed(inspector: Client, text: str) -> None:
    # A null character is turned away before any page; no key and no scanner types one.
    text = text.encode("utf-8", "replace").decode().replace("\x00", "")

    assert inspector.get(reverse("front:scan"), {"q": text}).status_code in (200, 302)


@pytest.mark.parametrize("text", ["%", "_" * 9, "(01)", "https://x/01/", "9" * 5000, "' OR 1=1"])
def test_scan_takes_odd_codes(inspector: Client, text: str) -> None:
    assert inspector.get(reverse("front:scan"), {"q": text}).status_code == 200


def test_scan_takes_the_same_queries_however_much_it_finds() -> None:
    counts = []
    for more in (1, 29):
        for _ in range(more):
            goods_in.line(goods_in.material("Calendula"), supplier_lot="CAL-7")
            sent = dispatch.sent(
                (dispatch.finished_lot(), 1),
                to=dispatch.customer(f"Calendula {goods_in.supplier().pk}"),
                customer_reference="CAL-8",
            )
        for text in ("CAL-7", "CAL-8", "cal", sent.operation.reference):
            with CaptureQueriesContext(connection) as seen:
                find(text)
            counts.append(len(seen))

    assert counts[:4] == counts[4:]


def test_scan_shows_at_most_ten_of_a_kind() -> None:
    for _ in range(12):
        goods_in.line(supplier_lot="CAL-7")

    assert len(find("CAL-7").exact) == 10


def test_scan_still_finds_a_lot_that_is_past_and_empty() -> None:
    lot = make.lot(on_hand=0, made_on=make.DAY - timedelta(days=900))

    assert goes_to(lot.code) == trace_of(lot)
