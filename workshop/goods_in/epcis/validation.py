"""Whether a file is an EPCIS 2.0 document, told in sentences: our own structural checks.

They follow GS1 EPCIS 2.0 for what this book writes and reads, and need no schema beside them.
"""

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

from workshop.core.errors import ActionRefused

# Also where each takes four bytes, less than the server takes of a form.
LARGEST_CHARACTERS = 1_000_000
TYPES = (
    "ObjectEvent",
    "AggregationEvent",
    "TransactionEvent",
    "TransformationEvent",
    "AssociationEvent",
)
OFFSET = re.compile(r"[+-](0[0-9]|1[0-3]):[0-5][0-9]\Z|[+-]14:00\Z")
UNIT = re.compile(r"[A-Z0-9]{2,3}\Z")
ADDRESS = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:[^\s<>\"{}|\\^`]+\Z")
LISTS = ("quantityList", "inputQuantityList", "outputQuantityList", "childQuantityList")
Event = Mapping[str, Any]


def read_document(text: str) -> Mapping[str, Any]:
    """The document in `text`, numbers exact. Raises ActionRefused when it is none."""
    if len(text) > LARGEST_CHARACTERS:
        raise ActionRefused("The file is too large for one delivery. Ask for one delivery a file.")
    try:
        found = json.loads(
            text.removeprefix("\ufeff"),
            parse_float=Decimal,
            parse_int=_whole,
            object_pairs_hook=_once_each,
        )
    except (ValueError, RecursionError) as error:
        raise ActionRefused(
            "The file is not JSON. Ask for EPCIS 2.0 in its JSON-LD form."
        ) from error
    kind = found.get("type") if isinstance(found, Mapping) else None
    if kind in TYPES or kind == "EPCISQueryDocument":
        what = "a single event" if kind in TYPES else "the answer to a query"
        raise ActionRefused(
            f"The file is {what}. Ask for the EPCIS document of the whole delivery."
        )
    if not isinstance(found, Mapping) or kind != "EPCISDocument":
        raise ActionRefused("The file is JSON, but not an EPCIS document.")
    if not words(found.get("schemaVersion")).startswith("2."):
        raise ActionRefused("The file is EPCIS of another version. Ask for EPCIS 2.0.")
    return found


def _once_each(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Of two values under one name nobody knows which was meant."""
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = words(next(name for name in names if names.count(name) > 1))[:40]
        raise ActionRefused(
            f"The file says “{twice}” twice in one place. Ask for it to be written again."
        )
    return found


def _whole(digits: str) -> Decimal:
    return Decimal(digits)  # and not int, which refuses thousands of digits with a ValueError


def words(value: Any) -> str:
    """Text or a number as text, without line ends and what cannot be printed; else nothing.

    A file may hold half a character, turn the way of writing, or nest a thousand lists.
    """
    if isinstance(value, bool) or not isinstance(value, str | Decimal):
        return ""
    return "".join(letter for letter in " ".join(str(value).split()) if letter.isprintable())


def events_in(document: Mapping[str, Any]) -> list[Any]:
    body = document.get("epcisBody")
    events = body.get("eventList") if isinstance(body, Mapping) else None
    return list(events) if isinstance(events, list) else []


def faults_of(document: Mapping[str, Any]) -> list[str]:
    """Everything that is wrong with it, each event by its number; nothing for a sound one."""
    faults = list(_of_the_head(document))
    for number, event in enumerate(events_in(document), 1):
        if not isinstance(event, Mapping):
            faults.append(f"Event {number} is not an object.")
            continue
        faults += [f"Event {number}: {sentence}" for sentence in _of_an_event(event)]
    return faults


def _of_the_head(document: Mapping[str, Any]) -> Iterator[str]:
    if not document.get("@context"):
        yield "The document has no @context."
    if not _is_moment(document.get("creationDate")):
        yield "The document does not say when it was made (creationDate)."
    if not events_in(document):
        yield "The document holds no event."


def _of_an_event(event: Event) -> Iterator[str]:
    if event.get("type") not in TYPES:
        yield "its type is none of the five that there are."
    if not _is_moment(event.get("eventTime")):
        yield "it does not say when it happened (eventTime, with its offset)."
    if not OFFSET.match(words(event.get("eventTimeZoneOffset"))):
        yield "its eventTimeZoneOffset is not like +01:00."
    has_action = event.get("action") in ("ADD", "OBSERVE", "DELETE")
    if event.get("type") != "TransformationEvent" and not has_action:
        yield "its action is none of ADD, OBSERVE and DELETE."
    if event.get("type") == "TransformationEvent":
        yield from _of_a_transformation(event)
    for name in LISTS:
        yield from _of_a_list(name, event.get(name, []))


def _of_a_transformation(event: Event) -> Iterator[str]:
    if "action" in event:
        yield "a transformation has no action."
    inputs = event.get("inputEPCList") or event.get("inputQuantityList")
    outputs = event.get("outputEPCList") or event.get("outputQuantityList")
    if not (inputs and outputs) and not (event.get("transformationID") and (inputs or outputs)):
        yield "a transformation needs what went in and what came out, or a transformationID."


def _of_a_list(name: str, elements: Any) -> Iterator[str]:
    if not isinstance(elements, Sequence) or isinstance(elements, str):
        yield f"its {name} is not a list."
        return
    for place, element in enumerate(elements, 1):
        where = f"{name}, line {place}:"
        if not isinstance(element, Mapping):
            yield f"{where} it is not an object."
            continue
        if not ADDRESS.match(words(element.get("epcClass"))):
            yield f"{where} its epcClass is not a URI."
        quantity = element.get("quantity")
        if quantity is not None and not _is_amount(quantity):
            yield f"{where} its quantity is not a number that can be weighed or counted."
        if "uom" in element and not UNIT.match(words(element["uom"])):
            yield f"{where} its unit of measure (uom) is not a code like KGM."


def _is_amount(value: Any) -> bool:
    """Within a range that can be written out in forty letters: 1e999999 is a number too."""
    if not isinstance(value, Decimal) or not value.is_finite():
        return False
    return abs(value.adjusted()) <= 15 and len(value.as_tuple().digits) <= 20


def _is_moment(value: Any) -> bool:
    try:
        return datetime.fromisoformat(words(value).upper()).tzinfo is not None
    except ValueError:
        return False
