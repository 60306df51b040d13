"""EPCIS files as the standard allows them and as people break them: read right, or said."""

import gzip
import json
import threading
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.urls import reverse
from pytest_django.asserts import assertContains

from tests import make
from tests.goods_in import build as goods_in
from tests.trace.events import BASE, LATER, Story, shipped
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.goods_in.epcis.read_delivery import passed_over, read_lines
from workshop.goods_in.epcis.validation import LARGEST_CHARACTERS
from workshop.goods_in.models import Receipt, ReceiptLine
from workshop.trace.exports import epcis
from workshop.trace.lot.events import events_of
from workshop.trace.lot.query import trace

ADDRESS = reverse("goods_in:receive-events")
OIL = {"epcClass": "https://ostrey.example/class/OIL-SUN/7", "quantity": 12.5, "uom": "KGM"}


def events(*told: dict[str, Any], **of_all: Any) -> dict[str, Any]:
    """A document of several events, each made of `shipped`."""
    document = shipped()
    plain = document["epcisBody"]["eventList"][0]
    document["epcisBody"]["eventList"] = [{**plain, **of_all, **event} for event in told]
    return document


def lots_in(document: dict[str, Any]) -> list[tuple[str, str, str]]:
    lines = read_lines(json.dumps(document))
    return [(line.kind_code, line.supplier_lot, line.quantity) for line in lines]


def refusal(text: str) -> str:
    with pytest.raises(ActionRefused) as refused:
        read_lines(text)
    return refused.value.message


def sent(client: Client, content: bytes) -> Any:
    return client.post(ADDRESS, {"file": SimpleUploadedFile("delivery.jsonld", content)})


@pytest.fixture
def owner(db: None, client: Client) -> Client:
    client.force_login(make.user(Role.OWNER))
    return client


@pytest.mark.parametrize(
    ("address", "kind", "lot"),
    [
        # GS1 Tag Data Standard: all of a GTIN, whatever the serial number. It names no lot.
        ("urn:epc:idpat:sgtin:4012345.066666.*", "04012345666663", ""),
        ("urn:epc:class:lgtin:4012345.012345.998%2F877", "04012345123456", "998/877"),
        ("URN:EPC:CLASS:LGTIN:4012345.012345.998877", "04012345123456", "998877"),
        ("https://id.gs1.org/01/04012345123456", "04012345123456", ""),
        ("https://id.gs1.org/01/04012345123456/10/99%2F8/21/5", "04012345123456", "99/8"),
        ("https://ostrey.example/shop/01/4012345123456/10/998", "04012345123456", "998"),
        # A wrong check digit, a key that came later, the words of the first links.
        ("https://id.gs1.org/01/04012345123457/10/998", "04012345123457", "998"),
        ("https://id.gs1.org/01/04012345123456/235/TPX/10/998", "04012345123456", "998"),
        ("https://ostrey.example/gtin/04012345123456/lot/998", "04012345123456", "998"),
        ("https://id.gs1.org/01/04012345123456/10/" + "9" * 25, "04012345123456", "9" * 25),
    ],
)
def test_key_of_the_standard_names_the_thing_and_never_its_own_parts(
    address: str, kind: str, lot: str
) -> None:
    [(found_kind, found_lot, _)] = lots_in(shipped({**OIL, "epcClass": address}))

    assert (found_kind, found_lot) == (kind, lot)


def test_best_before_at_the_end_of_a_month_is_its_last_day() -> None:
    """Day 00 in a GS1 date is the last of the month."""
    address = "https://id.gs1.org/01/04012345123456/10/998?15=270200"

    [line] = read_lines(json.dumps(shipped({**OIL, "epcClass": address})))

    assert line.best_before == date(2027, 2, 28)


def test_event_declared_an_error_afterwards_is_not_received() -> None:
    """EPCIS 2.0, 7.4.1.2: the declaration comes under the id of the event that it takes back."""
    wrong, right = {**OIL, "quantity": 125}, OIL
    document = events(
        {"eventID": "urn:uuid:1", "quantityList": [wrong]},
        {
            "eventID": "urn:uuid:1",
            "quantityList": [wrong],
            "errorDeclaration": {
                "declarationTime": "2026-11-24T09:00:00+01:00",
                "reason": "incorrect_data",
                "correctiveEventIDs": ["urn:uuid:2"],
            },
        },
        {"eventID": "urn:uuid:2", "quantityList": [right]},
    )

    assert lots_in(document) == [("OIL-SUN", "7", "12.5 kg")]


def test_date_and_name_come_from_where_the_lot_was_made() -> None:
    made = {
        "bizStep": "commissioning",
        "action": "ADD",
        "quantityList": [OIL],
        "ilmd": {
            "cbvmda:descriptionShort": "Sunflower oil",
            "cbvmda:bestBeforeDate": "2027-06-30",
        },
    }

    [line] = read_lines(json.dumps(events(made, {"quantityList": [OIL]})))

    assert (line.event, line.name, line.best_before) == (2, "Sunflower oil", date(2027, 6, 30))


@pytest.mark.django_db
def test_our_own_export_brings_name_and_date_along() -> None:
    story = Story()
    make.dated(story.jars, make.day(months=12))
    story.jars.refresh_from_db()
    text = epcis.document(events_of(trace(story.jars)), base=BASE, at=LATER)

    found = {(line.name, line.best_before) for line in read_lines(text)}

    assert found == {(story.jars.item.name, make.day(months=12))}


@pytest.mark.parametrize(
    ("event", "sentence"),
    [
        (
            {"ilmd": {"cbvmda:bestBeforeDate": "30.06.2027"}},
            "Event 1: its cbvmda:bestBeforeDate is not a day like 2027-06-30.",
        ),
        (
            {"quantityList": [{**OIL, "epcClass": "https://o.example/class/OIL/" + "L" * 61}]},
            "Event 1: lot LLLLLLLLLLLLLLLLLLLL… is longer than 60 characters.",
        ),
        (
            {"quantityList": [{**OIL, "quantity": "12.5"}]},
            "Event 1: quantityList, line 1: its quantity is not a number that can be weighed or"
            " counted.",
        ),
        (
            {"eventTime": "2026-11-24T08:00:00"},
            "Event 1: it does not say when it happened (eventTime, with its offset).",
        ),
        (
            {"quantityList": [], "epcList": ["urn:epc:id:sgtin:4012345.066666.5"]},
            "The document sends nothing: it has no shipping or receiving event of lots. Event 1"
            " also sends things by numbers of their own (epcList: 1), without a lot and a quantity;"
            " they are not imported.",
        ),
        (
            {"type": "AggregationEvent", "parentID": "urn:epc:id:sscc:4012345.1234567890"},
            "The document sends nothing: it has no shipping or receiving event of lots. Other"
            " events in the file are passed over: 1 shipping.",
        ),
    ],
    ids=["date", "long lot", "text for a number", "no zone", "serials only", "on a pallet"],
)
def test_what_cannot_be_used_is_said(event: dict[str, Any], sentence: str) -> None:
    assert refusal(json.dumps(events({"quantityList": [OIL], **event}))) == sentence


@pytest.mark.parametrize(
    "moment",
    [
        "9999-12-31T23:59:59Z",
        "2005-07-11T11:30:47.0Z",  # a fraction as GS1's own examples write it
        "2026-11-24t08:00:00.123456789z",  # small letters are as good (RFC 3339, 5.6)
    ],
)
def test_event_is_read_whenever_it_happened(moment: str) -> None:
    document = events({"quantityList": [OIL], "eventTime": moment})

    assert lots_in(document) == [("OIL-SUN", "7", "12.5 kg")]


def test_what_else_is_in_the_file_is_named_beside_the_lots(owner: Client) -> None:
    document = events(
        {"bizStep": "commissioning", "action": "ADD", "quantityList": [OIL]},
        {"quantityList": [OIL], "epcList": ["urn:epc:id:sscc:4012345.1234567890"]},
        {"bizStep": "https://ref.gs1.org/cbv/BizStep-void_shipping", "quantityList": [OIL]},
    )

    assert passed_over(json.dumps(document)) == [
        "Other events in the file are passed over: 1 commissioning, 1 void_shipping.",
        "Event 2 also sends things by numbers of their own (epcList: 1), without a lot and a"
        " quantity; they are not imported.",
    ]
    assert passed_over(json.dumps(shipped(OIL))) == []
    page = sent(owner, json.dumps(document).encode())
    assertContains(page, "passed over: 1 commissioning, 1 void_shipping.")


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (
            ('"quantity": 12.5', '"quantity": 12.5, "quantity": 125'),
            "The file says “quantity” twice in one place. Ask for it to be written again.",
        ),
        (
            ('"EPCISDocument"', '"EPCISQueryDocument"'),
            "The file is the answer to a query. Ask for the EPCIS document of the whole delivery.",
        ),
        (
            ('"schemaVersion": "2.0"', '"schemaVersion": "1.2"'),
            "The file is EPCIS of another version. Ask for EPCIS 2.0.",
        ),
    ],
)
def test_document_that_may_mean_something_else_is_refused(
    change: tuple[str, str], sentence: str
) -> None:
    assert refusal(json.dumps(shipped(OIL)).replace(*change)) == sentence


def test_single_event_without_its_document_is_refused() -> None:
    event = {"@context": [epcis.CONTEXT], **shipped(OIL)["epcisBody"]["eventList"][0]}

    assert refusal(json.dumps(event)) == (
        "The file is a single event. Ask for the EPCIS document of the whole delivery."
    )


@pytest.mark.parametrize(
    ("code", "weighed"),
    [("GRM", "12.5"), ("KGM", "12500"), ("LBR", "5669.905"), ("ONZ", "354.369")],
)
def test_weight_is_taken_in_by_the_codes_of_the_standard(
    owner: Client, code: str, weighed: str
) -> None:
    oil = goods_in.material("Sunflower oil", code="OIL-SUN")
    answer = owner.post(ADDRESS, delivery({**OIL, "uom": code}, oil, goods_in.supplier()))

    assert answer.status_code == 302
    assert ReceiptLine.objects.get().posting.quantity == Decimal(weighed)


def test_weight_of_very_many_digits_is_kept_as_written_or_refused(owner: Client) -> None:
    oil, supplier = goods_in.material("Sunflower oil", code="OIL-SUN"), goods_in.supplier()
    for number, digits in enumerate(("12.345678901234567890", "0." + "1234567890" * 3)):
        told = delivery(OIL, oil, supplier, token=f"digits {number}", repeats_agreed="on")
        told["content"] = told["content"].replace("12.5", digits)
        owner.post(ADDRESS, told)

    assert [line.quantity_as_written for line in ReceiptLine.objects.all()] == [
        "12.345678901234567890 kg"
    ]


def delivery(element: dict[str, Any], item: Any, supplier: Any, **values: Any) -> dict[str, Any]:
    return {
        "content": json.dumps(shipped(element)),
        "supplier": supplier.pk,
        "received_on": make.iso(),
        "delivery_note": "DN-7",
        "token": "one",
        "item-0": item.pk,
        "seal_is_good": "on",
        "smell_is_good": "on",
        "look_is_good": "on",
        **values,
    }


@pytest.mark.parametrize(
    ("element", "sentence"),
    [
        # UN/ECE Recommendation 20: KG is a keg, 4G a microlitre; neither is a weight.
        ({"uom": "KG"}, "KG is not a unit known here."),
        ({"uom": "4G"}, "4G is not a unit known here."),
        ({"quantity": -1}, "A weight cannot be below zero."),
        ({"quantity": 0}, "The weight must be above zero."),
        ({"quantity": 1e15}, "That is more than ten tonnes."),
        ({"uom": "EA"}, "The document counts 12.5 pieces, and Sunflower oil is weighed."),
        ({"epcClass": "https://id.gs1.org/01/04012345123456"}, "Copy the supplier&#x27;s lot"),
    ],
)
def test_line_that_cannot_be_weighed_or_named_is_marked_and_nothing_written(
    owner: Client, element: dict[str, Any], sentence: str
) -> None:
    oil = goods_in.material("Sunflower oil", code="OIL-SUN")

    answer = owner.post(ADDRESS, delivery({**OIL, **element}, oil, goods_in.supplier()))

    assertContains(answer, sentence)
    assert Receipt.objects.count() == 0


def test_byte_order_mark_is_no_matter_and_a_packed_file_is_refused(owner: Client) -> None:
    text = json.dumps(shipped(OIL)).encode()

    assertContains(sent(owner, b"\xef\xbb\xbf" + text), "1 lot in the file")
    assertContains(sent(owner, gzip.compress(text)), "The file is not text.")
    assertContains(sent(owner, b" " * 20_000_000), "The file is too large")
    latin = json.dumps({**shipped(OIL), "note": "Käse"}, ensure_ascii=False).encode("latin-1")
    assertContains(sent(owner, latin), "The file is not text.")


def test_largest_file_that_is_read_can_be_received_too(owner: Client) -> None:
    """Letters of four bytes, and line ends that a browser sends back as two characters."""
    oil, supplier = goods_in.material("Sunflower oil", code="OIL-SUN"), goods_in.supplier()
    document = shipped(OIL)
    document["epcisBody"]["eventList"][0]["ostrey:note"] = "\U0001f33b" * 900_000
    text = json.dumps(document, ensure_ascii=False, indent=1)
    text += "\n" * (LARGEST_CHARACTERS - len(text))

    shown = sent(owner, text.encode())
    content = (
        shown.context["form"].initial.get("content") or shown.context["form"]["content"].value()
    )
    back = delivery(OIL, oil, supplier) | {"content": content.replace("\n", "\r\n")}
    answer = owner.post(ADDRESS, back)

    assertContains(shown, "1 lot in the file")
    assert answer.status_code == 302
    assert Receipt.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_two_browsers_that_send_the_same_file_at_once_receive_it_once() -> None:
    oil, supplier = goods_in.material("Sunflower oil", code="OIL-SUN"), goods_in.supplier()
    clients = [Client(), Client()]
    for client in clients:
        client.force_login(make.user(Role.OWNER))
    gate, answers = threading.Barrier(2), [0, 0]

    def send(number: int) -> None:
        gate.wait()
        told = delivery(OIL, oil, supplier, token=f"browser {number}")
        answers[number] = clients[number].post(ADDRESS, told).status_code
        connection.close()

    threads = [threading.Thread(target=send, args=(number,)) for number in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert sorted(answers) == [200, 302]
    assert ReceiptLine.objects.count() == 1
