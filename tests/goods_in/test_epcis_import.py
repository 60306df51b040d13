"""A supplier's EPCIS document taken in as a receipt: a dry run, then all of it or nothing."""

import json
from decimal import Decimal
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from pytest_django.asserts import assertContains, assertRedirects

from tests import make
from tests.goods_in import build as goods_in
from tests.trace.events import BASE, LATER, Story, shipped
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.goods_in.epcis.read_delivery import read_lines
from workshop.goods_in.models import Receipt, ReceiptLine, Supplier
from workshop.ledger.models import Item, Status
from workshop.trace.exports import epcis
from workshop.trace.lot.events import events_of
from workshop.trace.lot.query import trace

pytestmark = pytest.mark.django_db
ADDRESS = reverse("goods_in:receive-events")
CHECKED = {"seal_is_good": "on", "smell_is_good": "on", "look_is_good": "on"}


@pytest.fixture
def owner(client: Client) -> Client:
    client.force_login(make.user(Role.OWNER))
    return client


@pytest.fixture
def oil(db: None) -> Item:
    return goods_in.material("Sunflower oil", code="OIL-SUN")


@pytest.fixture
def supplier(db: None) -> Supplier:
    return goods_in.supplier("Ostrey Oils")


def of_oil(lot: str = "7", **values: Any) -> dict[str, Any]:
    return {
        "epcClass": f"https://ostrey.example/class/OIL-SUN/{lot}",
        "quantity": 12.5,
        "uom": "KGM",
        **values,
    }


def sent_in(client: Client, document: Any) -> Any:
    text = document if isinstance(document, str) else json.dumps(document)
    file = SimpleUploadedFile("delivery.jsonld", text.encode())
    return client.post(ADDRESS, {"file": file})


def delivery(document: dict[str, Any], supplier: Supplier, *items: Item, **values: Any) -> Any:
    return {
        "content": json.dumps(document),
        "supplier": supplier.pk,
        "received_on": make.iso(),
        "delivery_note": "DN-7",
        "token": "delivery one",
        **{f"item-{number}": item.pk for number, item in enumerate(items)},
        **CHECKED,
        **values,
    }


def test_file_is_shown_line_by_line_and_nothing_is_written(owner: Client, oil: Item) -> None:
    answer = sent_in(owner, shipped(of_oil(), ilmd={"cbvmda:bestBeforeDate": make.iso(217)}))

    assertContains(answer, "1 lot in the file")
    assertContains(answer, "Not saved yet.")
    [line] = answer.context["lines"]
    assert (line.item, line.supplier_lot, line.quantity, line.taken_in) == (
        oil,
        "7",
        "12.5 kg",
        "12\u202f500.0\u202fg",
    )
    assert Receipt.objects.count() == 0


def test_delivery_is_received_in_quarantine_with_lot_date_and_weight(
    owner: Client, oil: Item, supplier: Supplier
) -> None:
    document = shipped(
        of_oil(quantity=12.3456),
        ilmd={"cbvmda:bestBeforeDate": make.iso(217)},
    )

    answer = owner.post(ADDRESS, delivery(document, supplier, oil))

    line = ReceiptLine.objects.get()
    assertRedirects(answer, reverse("goods_in:receipt", args=[str(line.receipt)]))
    assert (line.lot.item, line.supplier_lot, line.posting.quantity) == (
        oil,
        "7",
        Decimal("12345.6"),
    )
    assert (line.quantity_as_written, str(line.makers_expiry)) == ("12.3456 kg", make.iso(217))
    assert (line.receipt.supplier, line.receipt.delivery_note) == (supplier, "DN-7")
    assert line.lot.status == Status.QUARANTINE


def test_delivery_sent_twice_is_received_once(owner: Client, oil: Item, supplier: Supplier) -> None:
    for _ in range(2):
        owner.post(ADDRESS, delivery(shipped(of_oil()), supplier, oil))

    assert Receipt.objects.count() == 1


def test_dry_run_lists_every_bad_row_and_one_bad_row_stops_all(
    owner: Client, oil: Item, supplier: Supplier
) -> None:
    document = shipped(
        of_oil("1"),
        of_oil("2", uom="XYZ"),
        of_oil("3", quantity=0),
        {"epcClass": "https://ostrey.example/class/OIL-SUN/4"},
        {"epcClass": "https://ostrey.example/class/WAX/5", "quantity": 1, "uom": "KGM"},
    )

    answer = owner.post(ADDRESS, delivery(document, supplier, oil))

    assert answer.status_code == 200
    assertContains(answer, "4 of 5 lots cannot be imported yet")
    faults = [line.faults for line in answer.context["lines"]]
    assert faults[0] == []
    assert "not a unit known here" in faults[1][0]
    assert faults[3:] == [["The document gives no quantity."], ["Choose what this is here."]]
    assert len(faults[2]) == 1
    assertContains(answer, 'value="DN-7"')
    assert Receipt.objects.count() == 0


def test_bare_count_of_what_is_weighed_is_refused(
    owner: Client, oil: Item, supplier: Supplier
) -> None:
    document = shipped({"epcClass": "https://o.example/class/OIL-SUN/7", "quantity": 144})

    answer = owner.post(ADDRESS, delivery(document, supplier, oil))

    assertContains(answer, "The document counts 144 pieces, and Sunflower oil is weighed.")
    assert Receipt.objects.count() == 0


def test_description_of_one_thing_guesses_the_item_and_of_several_none(oil: Item) -> None:
    other = {"epcClass": "https://o.example/class/X/9", "quantity": 3, "uom": "KGM"}
    named = {"ilmd": {"cbvmda:descriptionShort": "Sunflower oil"}}

    [one] = read_lines(json.dumps(shipped(other, **named)))
    several = read_lines(json.dumps(shipped(other, of_oil(), **named)))

    assert one.name == "Sunflower oil"
    assert [line.name for line in several] == ["", ""]


def test_what_the_receipt_itself_refuses_stands_beside_its_row(
    owner: Client, oil: Item, supplier: Supplier
) -> None:
    document = shipped(of_oil("1"), of_oil("1"), ilmd={"cbvmda:bestBeforeDate": make.iso(-298)})

    answer = owner.post(ADDRESS, delivery(document, supplier, oil))

    first, second = (line.faults for line in answer.context["lines"])
    assert [fault.split(",")[0] for fault in first] == ["The maker's expiry"]
    assert "Lot 1 on this page has the same item and supplier lot." in second[1]
    assert Receipt.objects.count() == 0


def test_lot_with_bad_seal_needs_a_word(owner: Client, oil: Item, supplier: Supplier) -> None:
    asked = delivery(shipped(of_oil()), supplier, oil)
    del asked["seal_is_good"]

    answer = owner.post(ADDRESS, asked)

    assertContains(answer, "Does not conform: seal.")
    answer = owner.post(ADDRESS, {**asked, "checks_note": "Cap loose on one drum"})
    assert ReceiptLine.objects.get().checks_note == "Cap loose on one drum"


def test_certificate_makes_what_it_covers_organic(
    owner: Client, oil: Item, supplier: Supplier
) -> None:
    wax = goods_in.material("Beeswax", code="WAX")
    certificate = goods_in.certificate(supplier, [oil])
    document = shipped(
        of_oil(), {"epcClass": "https://o.example/class/WAX/9", "quantity": 3, "uom": "GRM"}
    )

    owner.post(ADDRESS, delivery(document, supplier, oil, wax, certificate=certificate.pk))

    found = {line.lot.item: line.certificate for line in ReceiptLine.objects.all()}
    assert found == {oil: certificate, wax: None}


def test_check_again_writes_nothing(owner: Client, oil: Item, supplier: Supplier) -> None:
    answer = owner.post(ADDRESS, delivery(shipped(of_oil()), supplier, oil, check="yes"))

    assertContains(answer, "1 lot can be imported")
    assert Receipt.objects.count() == 0


@pytest.mark.parametrize(
    ("document", "sentence"),
    [
        ("no JSON", "The file is not JSON. Ask for EPCIS 2.0 in its JSON-LD form."),
        (shipped(of_oil(uom="kg")), "its unit of measure (uom) is not a code like KGM."),
        (shipped(of_oil(), bizStep="packing"), "The document sends nothing"),
        (shipped(of_oil(), disposition="returned"), "The document sends nothing"),
        (shipped(*[of_oil(str(n)) for n in range(201)]), "one receipt takes 200"),
    ],
)
def test_file_that_is_no_delivery_is_refused_in_words(
    owner: Client, document: Any, sentence: str
) -> None:
    assertContains(sent_in(owner, document), sentence)


def test_empty_and_odd_files_are_refused(owner: Client) -> None:
    assertContains(sent_in(owner, ""), "The file is empty.")
    binary = SimpleUploadedFile("delivery.jsonld", b"\xff\xfe\x00\xd8")
    assertContains(owner.post(ADDRESS, {"file": binary}), "The file is not text.")
    assertContains(owner.post(ADDRESS, {}), "Choose the file that the supplier sent.")
    assertContains(owner.post(ADDRESS, {"content": "nonsense"}), "The file is not JSON.")


def test_number_beyond_weighing_is_refused() -> None:
    for number in ("1e999999", "9" * 40, "NaN", "1e-30"):
        text = json.dumps(shipped(of_oil(quantity=0))).replace(
            '"quantity": 0', f'"quantity": {number}'
        )
        with pytest.raises(ActionRefused):
            read_lines(text)


def test_inspector_takes_nothing_in(client: Client) -> None:
    client.force_login(make.user(Role.INSPECTOR))

    assert client.get(ADDRESS).status_code == 403


@pytest.mark.parametrize(
    ("address", "kind", "lot", "best_before"),
    [
        # The two of GS1's own example documents that stand for the same lot.
        ("urn:epc:class:lgtin:0614141.077777.987", "00614141777778", "987", None),
        ("https://id.gs1.org/01/00614141777778/10/987", "00614141777778", "987", None),
        (
            "https://id.gs1.org/01/00614141777778/10/987?15=271231",
            "00614141777778",
            "987",
            "2027-12-31",
        ),
        ("https://o.example/class/OIL%201/L%2F7", "OIL 1", "L/7", None),
        ("urn:x-ostrey:class:OIL-1:7", "OIL-1", "7", None),
    ],
)
def test_address_names_the_kind_and_the_lot(
    address: str, kind: str, lot: str, best_before: str | None
) -> None:
    [line] = read_lines(json.dumps(shipped({"epcClass": address, "quantity": 1})))

    assert (line.kind_code, line.supplier_lot) == (kind, lot)
    assert line.best_before is None or str(line.best_before) == best_before


def test_our_own_export_can_be_taken_in(owner: Client, supplier: Supplier) -> None:
    """What one book shipped, another receives: two deliveries of the same lot of jars."""
    story = Story()
    text = epcis.document(events_of(trace(story.jars)), base=BASE, at=LATER)

    lines = read_lines(text)
    answer = owner.post(
        ADDRESS,
        delivery(json.loads(text), supplier, story.tins.item, repeats_agreed="on"),
    )

    assert [(line.supplier_lot, line.quantity) for line in lines] == [
        (story.jars.code, "5"),
        (story.jars.code, "2"),
    ]
    assert answer.status_code == 302
    assert (
        sum(
            line.posting.quantity for line in ReceiptLine.objects.filter(receipt__supplier=supplier)
        )
        == 7
    )
