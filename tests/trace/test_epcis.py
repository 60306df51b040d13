"""A trace as EPCIS 2.0: what each act becomes, exact, and sound by the published schema."""

import json
import os
from decimal import Decimal
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from tests import make
from tests.dispatch import build as dispatch
from tests.trace import build
from tests.trace.events import BASE, GTIN, LATER, Story, of_act, shipped
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.goods_in.epcis.validation import faults_of, read_document
from workshop.ledger import services as ledger
from workshop.ledger.models import OperationKind, Side
from workshop.trace.exports import epcis
from workshop.trace.lot.events import events_of
from workshop.trace.lot.query import trace

pytestmark = pytest.mark.django_db
BESIDE = Path("shared/reference/data/epcis/EPCIS-JSON-Schema.json")


def published_schema() -> Any:
    """The schema is GS1's and not ours to ship."""
    named = os.environ.get("TAREBOOK_EPCIS_SCHEMA")
    path = Path(named) if named else Path(settings.BASE_DIR).parent / BESIDE
    if not path.exists():
        pytest.skip(
            "The EPCIS 2.0 JSON schema is not here: get EPCIS-JSON-Schema.json from the repository"
            " gs1/EPCIS and name it in TAREBOOK_EPCIS_SCHEMA."
        )
    return json.loads(path.read_text(encoding="utf-8"))


@pytest.fixture
def story(db: None) -> Story:
    return Story()


def test_document_is_sound_by_the_published_schema(story: Story) -> None:
    judge = jsonschema.Draft7Validator(
        published_schema(), format_checker=jsonschema.FormatChecker()
    )

    for lot in (story.wax, story.jars, story.oil):
        text = epcis.document(events_of(trace(lot)), base=BASE, at=LATER)
        assert [error.message for error in judge.iter_errors(json.loads(text))] == []


def test_schema_finds_what_our_own_checks_find(story: Story) -> None:
    judge = jsonschema.Draft7Validator(published_schema())
    told = story.told()
    batch = of_act(told["epcisBody"]["eventList"], "K")[0]
    del batch["inputQuantityList"]

    assert list(judge.iter_errors(told)) != []
    assert any("a transformation needs what went in" in fault for fault in faults_of(told))


def test_document_is_sound_by_our_own_checks(story: Story) -> None:
    for lot in (story.wax, story.jars, story.oil):
        text = epcis.document(events_of(trace(lot)), base=BASE, at=LATER)
        assert faults_of(read_document(text)) == []


def test_each_act_becomes_its_step_of_the_core_business_vocabulary(story: Story) -> None:
    steps = [
        (event["type"], event["bizStep"], event["disposition"], event.get("action"))
        for event in story.events()
        if "errorDeclaration" not in event
    ]

    assert sorted(steps, key=str) == sorted(
        [
            ("ObjectEvent", "receiving", "in_progress", "ADD"),
            ("TransformationEvent", "commissioning", "in_progress", None),
            ("TransformationEvent", "packing", "in_progress", None),
            ("ObjectEvent", "shipping", "in_transit", "OBSERVE"),
            ("ObjectEvent", "shipping", "in_transit", "OBSERVE"),
            ("ObjectEvent", "receiving", "returned", "OBSERVE"),
            ("ObjectEvent", "destroying", "destroyed", "DELETE"),
            ("ObjectEvent", "stock_taking", "in_progress", "ADD"),
        ],
        key=str,
    )


def test_receipt_tells_the_suppliers_lot_and_the_weight_in_kilograms(story: Story) -> None:
    [event] = of_act(story.events(), "R")

    address = f"{BASE}/class/{story.wax.item.code}/{story.wax.code}"
    assert event["quantityList"] == [
        {"epcClass": address, "quantity": Decimal(5), "uom": "KGM"},
    ]
    assert event["ilmd"]["tarebook:supplierLot"] == "MR-0117"
    assert event["tarebook:partner"]["tarebook:name"] == "Marl Ridge Apiary"


def test_packing_run_tells_grams_in_and_pieces_out_under_the_gtin(story: Story) -> None:
    [event] = of_act(story.events(), "P")

    amounts = {line["epcClass"]: line for line in event["inputQuantityList"]}
    salve = f"{BASE}/class/{story.salve.item.code}/{story.salve.code}"
    tins = f"{BASE}/class/{story.tins.item.code}/{story.tins.code}"
    assert amounts == {
        salve: {"epcClass": salve, "quantity": Decimal(480), "uom": "GRM"},
        tins: {"epcClass": tins, "quantity": Decimal(8)},
    }
    link = f"https://id.gs1.org/01/0{GTIN}/10/{story.jars.code}"
    assert event["outputQuantityList"] == [{"epcClass": link, "quantity": Decimal(8)}]


def test_batch_mended_after_closing_is_declared_an_error_and_told_again(story: Story) -> None:
    wrong, right = of_act(story.events(), "K")
    wax = f"{BASE}/class/{story.wax.item.code}/{story.wax.code}"

    def weighed(event: dict[str, Any]) -> Any:
        return next(
            line["quantity"] for line in event["inputQuantityList"] if line["epcClass"] == wax
        )

    assert (weighed(wrong), weighed(right)) == (Decimal(200), Decimal("210.125"))
    assert wrong["errorDeclaration"] == {
        "declarationTime": right["eventTime"],
        "reason": "incorrect_data",
        "correctiveEventIDs": [right["eventID"]],
        "tarebook:reason": "Read from the wrong line",
    }
    assert "errorDeclaration" not in right


def test_weighing_taken_back_before_closing_was_never_an_event(db: None) -> None:
    oil, wax = make.lot(), make.lot()
    made = build.run(
        OperationKind.BATCH, [(oil, 300)], [(build.bulk(), 290)], by=make.user(), wrong=[(wax, 5)]
    )[0]

    told = [one for one in events_of(trace(made)) if one.is_transforming]

    assert [(one.taken, one.said_before) for one in told] == [({oil.pk: Decimal(300)}, None)]
    assert [one for one in events_of(trace(wax)) if one.is_transforming] == []


def test_kettle_still_under_way_is_told_with_a_transformation_id(db: None) -> None:
    oil, by = make.lot(), make.user()
    kettle = ledger.open_operation(OperationKind.BATCH, by=by, at=make.NOON)
    ledger.post(kettle, oil, Side.IN, Decimal(300), by=by, at=make.NOON)

    text = epcis.document(events_of(trace(oil)), base=BASE, at=LATER)

    event = json.loads(text)["epcisBody"]["eventList"][-1]
    assert "outputQuantityList" not in event
    assert event["transformationID"] == f"{BASE}/transformation/{kettle.reference}"
    assert faults_of(read_document(text)) == []


def test_events_balance_to_what_is_on_hand(story: Story) -> None:
    """Quantities in and out of the wax, as another system would add them up."""
    address = f"{BASE}/class/{story.wax.item.code}/{story.wax.code}"
    gain = {"receiving": 1, "destroying": -1, "stock_taking": 1, "shipping": -1}
    held = Decimal(0)
    for event in story.events():
        if "errorDeclaration" in event:
            continue
        for name, sign in (("inputQuantityList", -1), ("quantityList", gain.get(event["bizStep"]))):
            for line in event.get(name, []):
                if line["epcClass"] == address:
                    grams = line["quantity"] * (1000 if line["uom"] == "KGM" else 1)
                    held += grams * (sign or 0)

    assert held == trace(story.wax).balance.on_hand


def test_numbers_are_written_as_they_stand_in_the_book(db: None) -> None:
    lot = make.lot(on_hand=Decimal("123456.802"))

    text = epcis.document(events_of(trace(lot)), base=BASE, at=LATER)

    assert '"quantity": 123.456802' in text


def test_events_have_the_same_ids_each_time(story: Story) -> None:
    first, again = story.events(), story.events()

    ids = [event["eventID"] for event in first]
    assert ids == [event["eventID"] for event in again]
    assert len(set(ids)) == len(ids)


def test_happenings_take_the_same_queries_however_many(django_assert_num_queries: Any) -> None:
    small, large = dispatch.finished_lot(), dispatch.finished_lot()
    dispatch.sent((small, 1), to=dispatch.customer("One"))
    for number in range(6):
        dispatch.sent((large, 1), to=dispatch.customer(f"Shop {number}"))

    for lot in (small, large):
        found = trace(lot)
        with django_assert_num_queries(6):
            events_of(found)


def test_events_are_served_as_a_json_ld_file(client: Client, story: Story) -> None:
    client.force_login(make.user(Role.INSPECTOR))

    answer = client.get(reverse("trace:events", args=[story.jars.code]))

    assert answer["Content-Type"] == "application/ld+json"
    assert f'filename="trace-{story.jars.code}.jsonld"' in answer["Content-Disposition"]
    assert faults_of(read_document(answer.content.decode())) == []


def with_event(**values: Any) -> dict[str, Any]:
    document = shipped({"epcClass": "https://s.example/class/OIL/7", "quantity": 1, "uom": "KGM"})
    document["epcisBody"]["eventList"][0].update(values)
    return document


@pytest.mark.parametrize(
    ("document", "sentence"),
    [
        (with_event(type="Happening"), "its type is none of the five that there are."),
        (with_event(eventTime="yesterday"), "it does not say when it happened"),
        (with_event(eventTimeZoneOffset="+2:00"), "its eventTimeZoneOffset is not like +01:00."),
        (with_event(eventTimeZoneOffset="+14:30"), "its eventTimeZoneOffset is not like +01:00."),
        (with_event(action="SHIP"), "its action is none of ADD, OBSERVE and DELETE."),
        (with_event(quantityList="5 kg"), "its quantityList is not a list."),
        (with_event(quantityList=["5 kg"]), "quantityList, line 1: it is not an object."),
        (with_event(quantityList=[{"epcClass": "OIL 7"}]), "line 1: its epcClass is not a URI."),
        (
            with_event(quantityList=[{"epcClass": "a:b", "quantity": "5"}]),
            "line 1: its quantity is not a number that can be weighed or counted.",
        ),
        (
            with_event(quantityList=[{"epcClass": "a:b", "quantity": 5, "uom": "kg"}]),
            "line 1: its unit of measure (uom) is not a code like KGM.",
        ),
    ],
)
def test_check_says_what_is_wrong_with_an_event(document: dict[str, Any], sentence: str) -> None:
    [fault] = faults_of(read_document(json.dumps(document)))

    assert fault.startswith("Event 1: ")
    assert sentence in fault


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "The file is not JSON."),
        ("[" * 100_000, "The file is not JSON."),
        ("[]", "The file is JSON, but not an EPCIS document."),
        ('{"type": "EPCISDocument", "schemaVersion": "1.2"}', "EPCIS of another version"),
        (" " * 2_000_001, "The file is too large for one delivery."),
    ],
)
def test_file_that_is_no_document_is_refused(text: str, sentence: str) -> None:
    with pytest.raises(ActionRefused, match=sentence):
        read_document(text)


def test_published_examples_pass_our_own_checks() -> None:
    published_schema()
    named = os.environ.get("TAREBOOK_EPCIS_SCHEMA")
    folder = (Path(named) if named else Path(settings.BASE_DIR).parent / BESIDE).parent / "examples"
    examples = sorted(folder.glob("*.jsonld"))
    if not examples:
        pytest.skip("GS1's example documents are not beside the schema.")

    for example in examples:
        assert faults_of(read_document(example.read_text(encoding="utf-8"))) == [], example.name
