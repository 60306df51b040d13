"""Odd EPCIS files: every one is read or refused in a sentence, and a refused one writes nothing."""

import copy
import json
from collections.abc import Iterator
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pytest_django.asserts import assertContains

from tests import make
from tests.goods_in import build as goods_in
from tests.trace.events import shipped
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.goods_in.epcis.read_delivery import DeliveryLine, read_lines
from workshop.goods_in.models import Receipt

ADDRESS = reverse("goods_in:receive-events")
OIL = {"epcClass": "https://ostrey.example/class/OIL-SUN/7", "quantity": 12.5, "uom": "KGM"}
WHOLE = shipped(
    OIL,
    ilmd={"cbvmda:descriptionShort": "Sunflower oil", "cbvmda:bestBeforeDate": make.iso(217)},
    disposition="in_transit",
    errorDeclaration=None,
    **{"tarebook:record": "D-2611-07"},
)
# What is typed wrongly, grows too large, or means something to a program on the way.
ODD: list[Any] = [
    None,
    True,
    0,
    -1,
    12.5,
    "",
    "x" * 100_000,
    "\x00",
    "\ud800",
    "\u202e7 LIO",
    "http://[7",
    "http://[v1.x]/class/OIL/7",
    "https://id.gs1.org/01/00614141777778/10/",
    "urn:epc:class:lgtin:99999999999999999999.9.1",
    "urn:epc:class:lgtin:0614141.077777.%ZZ",
    "https://o.example/class/%00/%ff",
    "0001-01-01T00:00:00+00:00",
    "9999-12-31",
    "<script>alert(1)</script>",
    "=1+2",
    [],
    [[]],
    [None],
    ["shipping"],
    {},
    {"": {}},
    {"epcClass": {}},
]
values = st.recursive(
    st.one_of(
        st.none(),
        st.booleans(),
        st.integers(),
        st.floats(),
        st.text(),
        st.sampled_from([odd for odd in ODD if isinstance(odd, str)]),
    ),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=6,
)


def places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The way to everything in a document."""
    yield path
    inner = dict(enumerate(value)) if isinstance(value, list) else value
    for key, one in inner.items() if isinstance(inner, dict) else ():
        yield from places(one, (*path, key))


PLACES = list(places(WHOLE))[1:]


def with_other(path: tuple[Any, ...], value: Any) -> dict[str, Any]:
    changed: Any = copy.deepcopy(WHOLE)
    at = changed
    for key in path[:-1]:
        at = at[key]
    at[path[-1]] = value
    whole: dict[str, Any] = changed
    return whole


def read_or_refused(text: str) -> None:
    try:
        lines, said = read_lines(text), "Read."
    except ActionRefused as error:
        lines, said = [], error.message
    assert said.endswith(".")
    assert len(said) < 1000
    assert all(words.isprintable() for line in lines for words in told_by(line))


def told_by(line: DeliveryLine) -> tuple[str, ...]:
    return line.address, line.kind_code, line.supplier_lot, line.name, line.unit


def sent(client: Client, content: bytes) -> Any:
    file = SimpleUploadedFile("delivery.jsonld", content)
    answer = client.post(ADDRESS, {"file": file})
    assert answer.status_code == 200
    answer.content.decode("utf-8")
    return answer


@pytest.fixture
def owner(db: None, client: Client) -> Client:
    goods_in.material("Sunflower oil", code="OIL-SUN")
    goods_in.supplier("Ostrey Oils")
    client.force_login(make.user(Role.OWNER))
    return client


def test_sound_document_is_read() -> None:
    [line] = read_lines(json.dumps(WHOLE))

    assert (line.kind_code, line.supplier_lot, line.quantity) == ("OIL-SUN", "7", "12.5 kg")


@pytest.mark.parametrize("path", PLACES, ids=lambda path: ".".join(map(str, path)))
def test_wrong_value_in_any_field_is_read_or_refused_in_a_sentence(path: tuple[Any, ...]) -> None:
    for odd in ODD:
        read_or_refused(json.dumps(with_other(path, odd)))


@settings(suppress_health_check=list(HealthCheck))
@given(path=st.sampled_from(PLACES), value=values)
def test_any_value_in_any_field_is_read_or_refused(path: tuple[Any, ...], value: Any) -> None:
    read_or_refused(json.dumps(with_other(path, value)))


@settings(suppress_health_check=list(HealthCheck))
@given(values)
def test_any_json_is_read_or_refused(value: Any) -> None:
    read_or_refused(json.dumps(value))


@settings(suppress_health_check=list(HealthCheck))
@given(st.data())
def test_document_cut_or_garbled_anywhere_is_read_or_refused(data: st.DataObject) -> None:
    text = json.dumps(WHOLE)
    first = data.draw(st.integers(0, len(text)))
    last = data.draw(st.integers(first, min(len(text), first + 9)))
    read_or_refused(text[:first] + data.draw(st.text(max_size=4)) + text[last:])


@pytest.mark.django_db
@pytest.mark.parametrize("path", PLACES, ids=lambda path: ".".join(map(str, path)))
def test_page_answers_any_odd_field_and_writes_nothing(owner: Client, path: Any) -> None:
    for odd in ODD:
        sent(owner, json.dumps(with_other(path, odd)).encode())

    assert Receipt.objects.count() == 0


@pytest.mark.django_db
def test_odd_but_readable_words_are_kept_out_of_the_book(owner: Client) -> None:
    """Whatever a file got through with, the receipt either stands or is refused whole."""
    supplier = goods_in.supplier("Marl Ridge")
    item = goods_in.material("Beeswax", code="WAX")
    for number, odd in enumerate(odd for odd in ODD if isinstance(odd, str)):
        document = with_other(("epcisBody", "eventList", 0, "ilmd"), {odd: odd})
        element = document["epcisBody"]["eventList"][0]["quantityList"][0]
        element["epcClass"] = f"https://o.example/class/{odd}/{odd}{number}"
        answer = owner.post(
            ADDRESS,
            {
                "content": json.dumps(document),
                "supplier": supplier.pk,
                "received_on": make.iso(),
                "delivery_note": f"DN-{number}",
                "token": f"odd {number}",
                "item-0": item.pk,
                "seal_is_good": "on",
                "smell_is_good": "on",
                "look_is_good": "on",
            },
        )
        assert answer.status_code in (200, 302), odd
    for receipt in Receipt.objects.all():
        assert owner.get(reverse("goods_in:receipt", args=[str(receipt)])).status_code == 200


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (json.dumps(WHOLE).encode("utf-16"), "The file is not text."),
        (json.dumps(WHOLE).encode("utf-32"), "The file is not text."),
        (b"PK\x03\x04" + bytes(range(256)), "The file is not text."),
        (b"\x1f\x8b\x08\x00\xff\xff", "The file is not text."),
        (b'{"a":' * 50_000, "The file is not JSON."),
        (b"[" * 1_000_000, "The file is not JSON."),
        (b'{"a":' * 200 + b"1" + b"}" * 200, "not an EPCIS document."),
        (b"9" * 1_000_000, "not an EPCIS document."),
        (b'"' + b"a" * 3_000_000 + b'"', "The file is too large"),
        (b" " * 9_000_000, "The file is too large"),
        (b'<?xml version="1.0"?><epcis:EPCISDocument/>', "The file is not JSON."),
        (b'{"type": "EPCISDocument", "schemaVersion": "2.0"}', "The document has no @context."),
        (b"Infinity", "The file is JSON, but not an EPCIS document."),
    ],
    ids=[
        "utf-16",
        "utf-32",
        "zip",
        "gzip",
        "deep objects",
        "deep lists",
        "deep but closed",
        "one long number",
        "one long text",
        "blanks",
        "xml",
        "bare",
        "infinity",
    ],
)
def test_file_of_another_kind_is_refused_in_words(
    owner: Client, content: bytes, sentence: str
) -> None:
    assertContains(sent(owner, content), sentence)
    assert Receipt.objects.count() == 0


@pytest.mark.django_db
def test_many_events_and_many_faults_are_told_shortly(owner: Client) -> None:
    document = copy.deepcopy(WHOLE)
    document["epcisBody"]["eventList"] = [{"type": "Happening"} for _ in range(20_000)]

    answer = sent(owner, json.dumps(document).encode())

    assertContains(answer, "There are 79995 more.")
    assert len(answer.content) < 20_000


@pytest.mark.django_db
def test_unknown_extensions_are_passed_over(owner: Client) -> None:
    document = with_other(("epcisBody", "eventList", 0, "tarebook:record"), {"a": [1, {"b": None}]})
    document["@context"].append({"ostrey": "https://ostrey.example/ns/"})
    document["epcisBody"]["eventList"][0]["ostrey:pallet"] = {"height": [1, 2, {"x": "y"}]}
    document["epcisHeader"] = {"anything": [None]}

    assertContains(sent(owner, json.dumps(document).encode()), "1 lot in the file")
