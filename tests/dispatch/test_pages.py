"""The pages of the dispatch room."""

from datetime import timedelta
from io import BytesIO
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader
from pytest_django.asserts import assertContains, assertNotContains, assertRedirects

from tests import make
from tests.dispatch import build
from workshop.core.models import Role, Workshop
from workshop.dispatch.models import Customer, Dispatch, Return
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Status
from workshop.rules.codes.lot_codes import check_character

pytestmark = pytest.mark.django_db
LONG_AGO = make.DAY - timedelta(days=400)


@pytest.fixture
def packer(client: Client) -> Client:
    client.force_login(make.user(Role.PACKER))
    return client


def typed(customer: Customer | None, *rows: tuple[str, str], **values: Any) -> dict[str, Any]:
    """What the page sends for these rows."""
    data: dict[str, Any] = {
        "customer": customer.pk if customer else "",
        "sent_on": timezone.localdate().isoformat(),
        "token": "a-token",
        "rows-TOTAL_FORMS": "5",
        "rows-INITIAL_FORMS": "0",
    }
    for number, (lot, units) in enumerate(rows):
        data |= {f"rows-{number}-lot": lot, f"rows-{number}-units": units}
    return data | values


def shelf_lot(on_hand: int = 40, **values: Any) -> Lot:
    return build.finished_lot(on_hand, made_on=LONG_AGO, **values)


def test_new_dispatch_says_what_it_wrote(packer: Client) -> None:
    one, two, customer = shelf_lot(), shelf_lot(), build.customer()
    rows = [(one.shown_code.lower(), "24"), (two.code, "6")]

    answer = packer.post(reverse("dispatch:new"), typed(customer, *rows), follow=True)

    sent = Dispatch.objects.get()
    assertRedirects(answer, reverse("dispatch:dispatch", args=[sent.operation.reference]))
    assertContains(answer, f"24 of lot {one}, 6 of lot {two} to Ostrell Larder.")
    assertContains(answer, "30 units went to Ostrell Larder")
    assert ledger.on_hand(one) == 16


def test_new_dispatch_reads_the_lot_out_of_a_carton_code(packer: Client) -> None:
    lot = shelf_lot()
    rows = [(f"(01)09521234543213(10){lot.code}", "1")]

    packer.post(reverse("dispatch:new"), typed(build.customer(), *rows))

    assert ledger.on_hand(lot) == 39


def test_new_dispatch_keeps_typing_and_names_the_lot_that_holds_too_few(packer: Client) -> None:
    one, two = shelf_lot(), shelf_lot(3)
    rows = [(one.code, "24"), (two.code, "6")]

    answer = packer.post(
        reverse("dispatch:new"), typed(build.customer(), *rows, note="By the side door")
    )

    assertContains(answer, f"Lot {two} holds 3, not 6.")
    assertContains(answer, f'value="{one.code}"')
    assertContains(answer, 'value="24"')
    assertContains(answer, "By the side door")
    assert Dispatch.objects.count() == 0


def test_new_dispatch_offers_near_misses_for_a_misread_code(packer: Client) -> None:
    lot = shelf_lot()
    misread = lot.code[1] + lot.code[0] + lot.code[2:]
    if misread == lot.code:
        misread = ("2" if lot.code[0] != "2" else "3") + lot.code[1:]

    answer = packer.post(reverse("dispatch:new"), typed(build.customer(), (misread, "1")))

    assertContains(answer, f"Perhaps {lot}?")


def test_new_dispatch_says_that_a_right_code_is_not_in_the_book(packer: Client) -> None:
    code = "ABCDEF" + check_character("ABCDEF")

    answer = packer.post(reverse("dispatch:new"), typed(build.customer(), (code, "1")))

    assertContains(answer, "There is no lot ABCD-EFC in the book.")


@pytest.mark.parametrize("lot", ["🫙🫙", "(01)123(10)", "\x1d10", "' OR 1=1 --", "ß" * 200])
def test_new_dispatch_takes_odd_codes_calmly(packer: Client, lot: str) -> None:
    answer = packer.post(reverse("dispatch:new"), typed(build.customer(), (lot, "1")))

    assertContains(answer, "is not a lot code. Read it again from the tag or the label.")


@pytest.mark.parametrize("units", ["0", "-3", "1.5", "1e9", "many", "NaN", "9" * 40])
def test_new_dispatch_takes_odd_units_calmly(packer: Client, units: str) -> None:
    lot = shelf_lot()

    answer = packer.post(reverse("dispatch:new"), typed(build.customer(), (lot.code, units)))

    assertContains(answer, "invalid-feedback")
    assertContains(answer, f'value="{lot.code}"')
    assert ledger.on_hand(lot) == 40


def test_new_dispatch_asks_for_a_customer_and_a_lot(packer: Client) -> None:
    answer = packer.post(reverse("dispatch:new"), typed(None))

    assertContains(answer, "This field is required.")
    assertContains(answer, "Enter at least one lot.")


def test_new_dispatch_survives_a_page_that_lost_its_rows(packer: Client) -> None:
    answer = packer.post(reverse("dispatch:new"), {"customer": "x", "rows-TOTAL_FORMS": "many"})

    assert answer.status_code == 200
    assert Dispatch.objects.count() == 0


def test_new_dispatch_fills_in_lots_first_expired_first(packer: Client) -> None:
    today = timezone.localdate()
    late = shelf_lot(50, best_before=today + timedelta(days=300))
    soon = make.lot(late.item, on_hand=10, made_on=LONG_AGO, best_before=today)
    past = today - timedelta(days=1)
    make.lot(late.item, on_hand=99, made_on=LONG_AGO, best_before=past)
    data = typed(build.customer(), product=late.item.pk, wanted="24", fill="lots", note="Ring")

    answer = packer.post(reverse("dispatch:new"), data)

    rows = [(row["lot"].value(), row["units"].value()) for row in answer.context["rows"]][:3]
    assert rows == [(soon.shown_code, "10"), (late.shown_code, "14"), (None, None)]
    assertContains(answer, "Ring")
    assert Dispatch.objects.count() == 0


def test_new_dispatch_says_how_many_are_short(packer: Client) -> None:
    lot = shelf_lot(10)
    data = typed(build.customer(), product=lot.item.pk, wanted="24", fill="lots")

    answer = packer.post(reverse("dispatch:new"), data)

    assertContains(answer, "14 short: no more of Cedar beard balm 50 g is released and in date.")


def test_new_dispatch_gives_more_rows_and_keeps_the_others(packer: Client) -> None:
    lot = shelf_lot()
    data = typed(None, ("", ""), (lot.code, "4"), fill="rows")

    answer = packer.post(reverse("dispatch:new"), data)

    assert len(answer.context["rows"].forms) == 6
    assertContains(answer, f'value="{lot.code}"')
    assertNotContains(answer, "This field is required.")


def test_return_page_takes_units_back(packer: Client) -> None:
    lot = build.finished_lot(40)
    sent = build.sent((lot, 24))
    data = {
        f"units_{lot.pk}": "2",
        "returned_on": timezone.localdate().isoformat(),
        "reason": "Lid dented",
        "token": "t",
    }

    answer = packer.post(
        reverse("dispatch:take-back", args=[sent.operation.reference]), data, follow=True
    )

    assertContains(answer, "2 came back")
    assertContains(answer, "Lid dented")
    lot.refresh_from_db()
    assert lot.status == Status.ON_HOLD


@pytest.mark.parametrize(
    ("units", "sentence"),
    [
        ("25", f"only 24 of D-{make.MONTH}-01 are still out."),
        ("", "Say how many of which lot came back."),
    ],
)
def test_return_page_says_beside_the_lot_what_is_wrong(
    packer: Client, units: str, sentence: str
) -> None:
    lot = build.finished_lot(40)
    sent = build.sent((lot, 24))
    data = {
        f"units_{lot.pk}": units,
        "returned_on": timezone.localdate().isoformat(),
        "reason": "Lid dented",
        "token": "t",
    }

    answer = packer.post(reverse("dispatch:take-back", args=[sent.operation.reference]), data)

    assertContains(answer, sentence)
    assertContains(answer, "Lid dented")
    assert Return.objects.count() == 0


def test_packing_slip_names_customer_lots_and_units(packer: Client) -> None:
    Workshop.objects.create(name="Wren Hollow Works", address="Port Ellery")
    lot = build.finished_lot(40, best_before=make.DAY + timedelta(days=300))
    to = build.customer(address="4 Quay Steps\nPort Ellery")
    sent = build.sent((lot, 24), to=to, customer_reference="PO 77")

    answer = packer.get(reverse("dispatch:packing-slip", args=[sent.operation.reference]))

    assert answer["Content-Type"] == "application/pdf"
    text = PdfReader(BytesIO(answer.content)).pages[0].extract_text()
    for words in (f"Packing slip D-{make.MONTH}-01", "4 Quay Steps", lot.shown_code, "24", "PO 77"):
        assert words in text
    assert "page 1 of 1" in text


def test_customer_is_entered_and_changed(packer: Client) -> None:
    data = {"name": "Quillan Street Chemist", "telephone": "555-0117", "is_active": "on"}
    answer = packer.post(reverse("dispatch:new-customer"), data, follow=True)
    assertContains(answer, "Quillan Street Chemist is in the book as shown here.")

    one = Customer.objects.get()
    packer.post(reverse("dispatch:change-customer", args=[one.pk]), data | {"contact": "Merrit"})

    one.refresh_from_db()
    assert one.contact == "Merrit"
    assert one.history.count() == 2


def test_customer_of_a_known_name_is_refused_beside_the_name(packer: Client) -> None:
    build.customer("Ostrell Larder")

    answer = packer.post(
        reverse("dispatch:new-customer"), {"name": "Ostrell Larder", "email": "no"}
    )

    assertContains(answer, "There is already a customer of this name.")
    assertContains(answer, 'value="no"')


def many(count: int) -> None:
    for number in range(count):
        lot = build.finished_lot(9)
        sent = build.sent((lot, 4), to=build.customer(f"Shop {Customer.objects.count()} {number}"))
        build.back(sent, (lot, 1))


@pytest.mark.parametrize("name", ["dispatch:home", "dispatch:customers", "dispatch:new"])
def test_lists_take_the_same_queries_for_any_number_of_rows(packer: Client, name: str) -> None:
    counts = []
    for more in (1, 4):
        many(more)
        shelf_lot()
        with CaptureQueriesContext(
            connection,
        ) as seen:
            packer.get(reverse(name))
        counts.append(len(seen))

    assert counts[0] == counts[1]


def test_dispatch_page_takes_the_same_queries_for_any_number_of_lots(packer: Client) -> None:
    counts = []
    for lots in (1, 5):
        sent = build.sent(
            *[(build.finished_lot(), 2) for _ in range(lots)], to=build.customer(f"Shop {lots}")
        )
        with CaptureQueriesContext(connection) as seen:
            packer.get(reverse("dispatch:dispatch", args=[sent.operation.reference]))
        counts.append(len(seen))

    assert counts[0] == counts[1]


def test_dispatch_list_finds_by_customer_and_reference(packer: Client) -> None:
    lot = build.finished_lot()
    build.sent((lot, 1), to=build.customer("Ostrell Larder"), customer_reference="PO 77")
    build.sent((lot, 1), to=build.customer("Quillan Street Chemist"))

    assertContains(packer.get(reverse("dispatch:home"), {"q": "po 7"}), "1 dispatch that mention")
    assertNotContains(packer.get(reverse("dispatch:home"), {"q": "quillan"}), "Ostrell Larder")


def test_dispatch_of_no_such_reference_is_not_in_the_book(packer: Client) -> None:
    assert packer.get(reverse("dispatch:dispatch", args=["D-9999-99"])).status_code == 404
