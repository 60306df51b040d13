"""The pages of goods-in: what a person sends, what they are told, what is written."""

from datetime import timedelta
from decimal import Decimal
from io import BytesIO
from typing import Any

import pikepdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from tests import make
from tests.goods_in import build
from workshop.core.models import Role
from workshop.goods_in.models import Certificate, Receipt, ReceiptLine, Supplier
from workshop.ledger.models import Item, Status

pytestmark = pytest.mark.django_db
NEW = "/goods-in/new/"


@pytest.fixture
def owner(client: Client) -> Client:
    client.force_login(make.user(Role.OWNER))
    return client


@pytest.fixture
def maker(client: Client) -> Client:
    client.force_login(make.user(Role.MAKER))
    return client


def a_line(row: int, item: Item, **values: Any) -> dict[str, Any]:
    told = {
        "item": item.name,
        "supplier_lot": f"S{row}",
        "quantity_as_written": "5 kg",
        "seal_is_good": "on",
        "look_is_good": "on",
        "smell_is_good": "on",
        **values,
    }
    return {f"lines-{row}-{name}": value for name, value in told.items()}


def a_page(of: Supplier, *lines: dict[str, Any], **head: Any) -> dict[str, Any]:
    page = {
        "supplier": of.pk,
        "received_on": timezone.localdate().isoformat(),
        "token": "page-1",
        "lines-TOTAL_FORMS": len(lines) + 1,
        "lines-INITIAL_FORMS": 0,
        **head,
    }
    for line in lines:
        page |= line
    return page


def a_pdf(name: str = "coa.pdf") -> SimpleUploadedFile:
    file = BytesIO()
    document = pikepdf.new()
    document.add_blank_page()
    document.save(file)
    return SimpleUploadedFile(name, file.getvalue(), "application/pdf")


def sentences(response: Any) -> list[str]:
    """Every error sentence beside the fields of the rows, then of the head."""
    context = response.context
    rows = [text for form in context["lines"] for told in form.errors.values() for text in told]
    return rows + [text for told in context["form"].errors.values() for text in told]


def test_delivery_of_two_lots_is_received_and_shown(maker: Client) -> None:
    of, oil, tin = build.supplier("Ostrey"), build.material("Olive oil"), build.packaging()
    lines = (
        a_line(0, oil, quantity_as_written="3 × 5 kg", cost="61,20", analysis=a_pdf()),
        a_line(2, tin, quantity_as_written="2 x 72", smell_is_good=""),
    )

    page = maker.post(NEW, a_page(of, *lines, **{"lines-TOTAL_FORMS": 4}), follow=True)

    receipt = Receipt.objects.get()
    first, second = receipt.lines.select_related("posting", "analysis", "lot")
    assert page.redirect_chain == [(f"/goods-in/receipts/{receipt}/", 302)]
    assert (first.posting.quantity, second.posting.quantity) == (15000, 144)
    assert (first.cost, first.analysis and first.analysis.name) == (Decimal("61.20"), "coa.pdf")
    [said] = page.context["messages"]
    assert f"Olive oil 15\u202f000.0\u202fg as lot {first.lot}" in str(said)


def test_page_sent_twice_receives_once(maker: Client) -> None:
    sent = a_page(build.supplier(), a_line(0, build.material()))

    maker.post(NEW, sent)
    again = maker.post(NEW, sent)

    receipt = Receipt.objects.get()
    assert again["Location"] == f"/goods-in/receipts/{receipt}/"


def test_litres_are_read_through_the_density(maker: Client) -> None:
    oil = build.material(density_g_per_ml=Decimal("0.915"))

    maker.post(NEW, a_page(build.supplier(), a_line(0, oil, quantity_as_written="4 L")))

    assert ReceiptLine.objects.get().posting.quantity == 3660


def test_litres_without_a_density_are_refused_beside_the_quantity(maker: Client) -> None:
    sent = a_page(build.supplier(), a_line(0, build.material(), quantity_as_written="4 L"))

    page = maker.post(NEW, sent)

    assert page.context["lines"][0].errors == {
        "quantity_as_written": [
            "A volume cannot be turned into grams without the item's density."
            " Weigh it, or enter the density in g/mL first."
        ]
    }
    assert not Receipt.objects.exists()


def test_bad_row_keeps_the_typing_and_says_each_fault_beside_its_field(maker: Client) -> None:
    oil = build.material()
    yesterday = (timezone.localdate() - timedelta(days=1)).isoformat()
    bad = a_line(1, oil, makers_expiry=yesterday, supplier_lot="KEEP-ME", seal_is_good="")

    page = maker.post(NEW, a_page(build.supplier(), a_line(0, oil), bad))

    assert not page.context["lines"][0].errors
    assert list(page.context["lines"][1].errors) == ["makers_expiry", "checks_note"]
    assert 'value="KEEP-ME"' in page.content.decode()
    assert "Not saved yet." in page.content.decode()
    assert not Receipt.objects.exists()


def test_faults_land_on_the_right_row_when_a_row_between_is_empty(maker: Client) -> None:
    oil = build.material()
    of = build.supplier()
    paper = build.certificate(of, [], valid_to=timezone.localdate())
    lines = a_line(0, oil), a_line(2, oil, organic=paper.pk)

    page = maker.post(NEW, a_page(of, *lines, **{"lines-TOTAL_FORMS": 3}))

    assert [list(form.errors) for form in page.context["lines"]] == [[], [], ["organic"]]


def test_empty_receipt_is_refused(maker: Client) -> None:
    page = maker.post(NEW, a_page(build.supplier()))

    assert sentences(page) == ["A receipt needs at least one lot."]


def test_receipt_in_the_future_is_refused_beside_the_day(maker: Client) -> None:
    tomorrow = (timezone.localdate() + timedelta(days=1)).isoformat()

    page = maker.post(
        NEW, a_page(build.supplier(), a_line(0, build.material()), received_on=tomorrow)
    )

    assert list(page.context["form"].errors) == ["received_on"]


def test_supplier_lot_again_asks_and_a_yes_takes_it(maker: Client) -> None:
    of, oil = build.supplier(), build.material()
    build.line(oil, of=of, supplier_lot="S0")
    sent = a_page(of, a_line(0, oil))

    asked = maker.post(NEW, sent)
    assert "Yes, it is the same supplier lot again" in asked.content.decode()
    assert list(asked.context["lines"][0].errors) == ["supplier_lot"]

    maker.post(NEW, {**sent, "repeats_agreed": "on"})
    assert Receipt.objects.count() == 2


def test_fresh_page_does_not_ask_about_repeats(maker: Client) -> None:
    assert "same supplier lot again" not in maker.get(NEW).content.decode()


def test_organic_lot_comes_in_under_its_certificate(maker: Client) -> None:
    of, oil = build.supplier(), build.material()
    paper = build.certificate(of, [oil], valid_to=timezone.localdate())

    maker.post(NEW, a_page(of, a_line(0, oil, organic=paper.pk)))

    line = ReceiptLine.objects.get()
    assert (line.certificate, line.is_organic) == (paper, True)


def test_another_lot_without_script_keeps_all_typing(maker: Client) -> None:
    of, oil = build.supplier(), build.material()
    first, second = a_line(0, oil, supplier_lot="ONE"), a_line(1, oil, cost="odd")

    page = maker.post(NEW, a_page(of, first, second, another="yes", note="By van"))

    forms = page.context["lines"].forms
    assert [form["supplier_lot"].value() for form in forms] == ["ONE", "S1", None, None]
    assert [form["cost"].value() for form in forms] == [None, "odd", None, None]
    assert f'<option value="{of.pk}" selected>' in page.content.decode()
    assert "By van" in page.content.decode()
    assert sentences(page) == []


def test_page_shown_again_can_be_sent(maker: Client) -> None:
    of, oil = build.supplier(), build.material()
    maker.post(NEW, a_page(of, a_line(0, oil), another="yes"))

    maker.post(NEW, a_page(of, a_line(0, oil), **{"lines-TOTAL_FORMS": 2}))

    assert Receipt.objects.get().lines.count() == 1


def test_refreshed_lists_hold_what_was_entered_meanwhile(maker: Client) -> None:
    of = build.supplier()
    build.material("Just entered")

    page = maker.post(NEW, a_page(of, again="yes"))

    assert '<option value="Just entered">' in page.content.decode()
    offered = maker.get(reverse("goods_in:choices")).json()
    assert offered["known"] == ["Just entered"]
    assert offered["supplier"] == [["", [[str(of.pk), of.name]]]]


def test_lost_file_is_said(maker: Client) -> None:
    line = a_line(0, build.material(), analysis=a_pdf(), supplier_lot="")

    page = maker.post(NEW, a_page(build.supplier(), line))

    assert "choose the certificates of analysis again" in page.content.decode()


def test_file_that_is_no_document_is_refused(maker: Client) -> None:
    odd = SimpleUploadedFile("coa.pdf", b"MZ not a pdf", "application/pdf")

    page = maker.post(NEW, a_page(build.supplier(), a_line(0, build.material(), analysis=odd)))

    assert page.context["lines"][0].errors == {
        "analysis": ["Only a PDF, a JPEG or a PNG picture can be handed in."]
    }


def test_more_lots_than_a_page_takes_are_refused(maker: Client) -> None:
    oil = build.material()

    page = maker.post(NEW, a_page(build.supplier(), *(a_line(row, oil) for row in range(41))))

    assert page.context["lines"].non_form_errors() == [
        "One page takes at most 40 lots; enter the others as a second receipt."
    ]
    assert not Receipt.objects.exists()


def test_rows_of_a_page_share_their_choices(
    maker: Client, django_assert_max_num_queries: Any
) -> None:
    oil = build.material()
    sent = a_page(build.supplier(), *(a_line(row, oil) for row in range(30)), another="yes")

    with django_assert_max_num_queries(8):
        maker.post(NEW, sent)


@pytest.mark.parametrize(
    ("text", "said", "understood"),
    [
        ("3 x 5 kg", "read as 15\u202f000.0\u202fg", True),
        ("", "", True),
        ("1,234", '"1,234" can mean 1.234 or 1234. Please type the one you mean.', False),
    ],
)
def test_reading_says_the_grams(maker: Client, text: str, said: str, *, understood: bool) -> None:
    build.material("Olive oil")
    asked = {"item": "olive", "quantity": text}

    heard = maker.get(reverse("goods_in:reading"), asked).json()

    assert (heard["said"], heard["understood"]) == (said, understood)


def test_home_shows_what_waits_before_the_latest_receipts(maker: Client) -> None:
    first, second = build.line(), build.line()
    build.lot()

    page = maker.get("/goods-in/")

    assert list(page.context["undecided"]) == [first, second]
    assert [row.waiting_count for row in page.context["list"].page] == [0, 1, 1]
    assert "2 lots are waiting for a decision" in page.content.decode()


def test_owner_releases_the_lots_found_good_at_once(owner: Client) -> None:
    good, bad = (
        build.arrived(build.material()),
        build.arrived(build.material(), seal_is_good=False, checks_note="Loose."),
    )
    receipt = build.receipt(good, bad)

    owner.post(f"/goods-in/receipts/{receipt}/release/")

    assert [line.lot.status for line in receipt.lines.all()] == [
        Status.RELEASED,
        Status.QUARANTINE,
    ]


def test_maker_cannot_release(maker: Client) -> None:
    line = build.line()

    answer = maker.post(f"/goods-in/lots/{line.lot.code}/release/", {"reason": ""})

    assert answer.status_code == 403
    line.lot.refresh_from_db()
    assert line.lot.status == Status.QUARANTINE


def test_hold_without_a_reason_asks_why(maker: Client) -> None:
    line = build.line()
    address = f"/goods-in/lots/{line.lot.code}/hold/"

    asked = maker.post(address, {"reason": " "})
    assert asked.context["form"].errors == {"reason": ["Say why."]}

    maker.post(address, {"reason": "Smells odd"})
    line.lot.refresh_from_db()
    assert line.lot.status == Status.ON_HOLD


def test_lot_page_of_a_lot_not_received_is_not_found(owner: Client) -> None:
    assert owner.get(f"/goods-in/lots/{make.lot().code}/release/").status_code == 404


SUPPLIER = {"name": "Low Fen", "email": "", "is_active": "on"}


def test_supplier_is_entered_and_changed(owner: Client) -> None:
    owner.post("/goods-in/suppliers/new/", SUPPLIER)
    found = Supplier.objects.get()

    owner.post(f"/goods-in/suppliers/{found.pk}/change/", {**SUPPLIER, "telephone": "555-0142"})

    assert [row.telephone for row in found.history.all()] == ["555-0142", ""]
    assert found.history.latest().history_user.role == Role.OWNER


def test_second_supplier_of_a_name_is_refused(owner: Client) -> None:
    build.supplier("Low Fen")

    page = owner.post("/goods-in/suppliers/new/", SUPPLIER)

    assert page.context["form"].errors == {"name": ["There is already a supplier of this name."]}


def a_certificate(of: Supplier, **values: Any) -> dict[str, Any]:
    return {
        "supplier": of.pk,
        "certifier": "Evergrain Assurance",
        "number": "EXAMPLE-EG-1",
        "valid_from": make.iso(-328),
        "valid_to": make.iso(36),
        **values,
    }


def test_certificate_is_entered_with_its_document_and_items(owner: Client) -> None:
    of, oil = build.supplier(), build.material()
    sent = a_certificate(of, items=[oil.pk], document=a_pdf("cert.pdf"))

    owner.post("/goods-in/certificates/new/", sent)

    found = Certificate.objects.get()
    assert found.document is not None
    assert (found.document.name, list(found.items.all())) == ("cert.pdf", [oil])


def test_certificate_change_keeps_its_document(owner: Client) -> None:
    of, oil = build.supplier(), build.material()
    owner.post("/goods-in/certificates/new/", a_certificate(of, document=a_pdf()))
    found = Certificate.objects.get()

    owner.post(
        f"/goods-in/certificates/{found.pk}/change/",
        a_certificate(of, items=[oil.pk], scope="Oils"),
    )

    changed = Certificate.objects.get()
    assert (changed.document, changed.scope) == (found.document, "Oils")
    assert list(changed.items.all()) == [oil]


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"valid_to": make.iso(-329)}, "The certificate ends before it begins."),
        ({}, "This certificate is already entered."),
    ],
)
def test_odd_certificate_is_refused(owner: Client, values: dict[str, Any], sentence: str) -> None:
    of = build.supplier()
    owner.post("/goods-in/certificates/new/", a_certificate(of))

    page = owner.post("/goods-in/certificates/new/", a_certificate(of, **values))

    assert page.context["form"].non_field_errors() == [sentence]
    assert Certificate.objects.count() == 1


def test_certificates_tell_their_state(owner: Client) -> None:
    of, today = build.supplier(), timezone.localdate()
    ends = [today - timedelta(days=1), today, today + timedelta(days=60), today + build.YEAR]
    for day in ends:
        build.certificate(of, [], valid_from=today - build.YEAR, valid_to=day)
    build.certificate(of, [], valid_from=today + timedelta(days=1), valid_to=today + build.YEAR)

    page = owner.get("/goods-in/certificates/")

    told = sorted((row.valid_to, row.state) for row in page.context["list"].page)
    states = [state for _, state in told]
    assert states == ["expired", "renewal due", "renewal due", "to come", "valid"]
    lapsed = owner.get("/goods-in/certificates/", {"state": "expired"}).context["list"].page
    assert [row.state for row in lapsed] == ["expired"]


# SQLite keeps whole numbers of at most 63 bits; a larger one must be no choice, not a fault.
@pytest.mark.parametrize("pk", ["9223372036854775808", "0", "x"])
def test_certificate_of_an_item_that_is_not_there_is_refused(owner: Client, pk: str) -> None:
    sent = a_certificate(build.supplier(), items=[pk])

    page = owner.post("/goods-in/certificates/new/", sent)

    assert list(page.context["form"].errors) == ["items"]
