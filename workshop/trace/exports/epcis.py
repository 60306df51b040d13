"""A trace as an EPCIS 2.0 document (GS1; JSON-LD): events that another system can read."""

import json
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any
from urllib.parse import quote
from uuid import NAMESPACE_URL, uuid5

from django.utils import timezone

from workshop.ledger.models import Lot, Operation, OperationKind, Unit
from workshop.rules.codes.gs1 import digital_link, gtin14
from workshop.trace.lot.events import Amounts, TraceEvent
from workshop.trace.lot.result import arrival_of

CONTEXT = "https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld"
# Where GS1 keys live as web addresses, as the standard's own examples write them.
KEYS = "https://id.gs1.org"
GRAM, KILOGRAM = "GRM", "KGM"  # UN/ECE Recommendation 20
Event = dict[str, Any]

# Business step, disposition and action of each act, from the Core Business Vocabulary 2.0.
STEPS: dict[OperationKind, tuple[str, str, str]] = {
    OperationKind.RECEIPT: ("receiving", "in_progress", "ADD"),
    OperationKind.BATCH: ("commissioning", "in_progress", ""),
    OperationKind.PACKING: ("packing", "in_progress", ""),
    OperationKind.UNPACKING: ("unpacking", "in_progress", ""),
    OperationKind.DISPATCH: ("shipping", "in_transit", "OBSERVE"),
    OperationKind.RETURN: ("receiving", "returned", "OBSERVE"),
    OperationKind.DISCARD: ("destroying", "destroyed", "DELETE"),
    OperationKind.SHED: ("stock_taking", "in_progress", ""),
    OperationKind.OPENING: ("stock_taking", "in_progress", "ADD"),
    OperationKind.COUNT: ("stock_taking", "in_progress", ""),
}


def document(happenings: Iterable[TraceEvent], *, base: str, at: datetime) -> str:
    """The whole document as JSON. `base` is this book's own address: it names what has no GTIN."""
    events = [event for happening in happenings for event in events_of(happening, base)]
    whole = {
        "@context": [CONTEXT, {"tarebook": f"{base}/ns/"}],
        "type": "EPCISDocument",
        "schemaVersion": "2.0",
        "creationDate": _instant(at),
        "epcisBody": {"eventList": events},
    }
    return "".join(_json(whole))


def events_of(happening: TraceEvent, base: str) -> Iterator[Event]:
    """Its events. What was changed after closing is told twice: once declared an error, once right.

    The standard keeps history: an event is never edited, but declared erroneous, with the ids of
    those that put it right.
    """
    before = happening.said_before
    right = list(_events(happening, base, version=1 if before else 0))
    for event in _events(before, base, version=0) if before else ():
        declared = {
            "declarationTime": _instant(happening.corrected_at or happening.at),
            "reason": "incorrect_data",
            "correctiveEventIDs": [one["eventID"] for one in right],
            "tarebook:reason": happening.reason,
        }
        yield event | {"errorDeclaration": declared}
    yield from right


def _event_id(operation: Operation, version: int, number: int) -> str:
    """The same each time it is asked for; the token is as good as unique in the world."""
    return f"urn:uuid:{uuid5(NAMESPACE_URL, f'{operation.token}/{version}/{number}')}"


def _events(happening: TraceEvent, base: str, *, version: int) -> Iterator[Event]:
    parts: list[Event] = []
    if happening.is_transforming and not happening.is_empty:
        parts = [_transformation(happening, base)]
    elif happening.act == OperationKind.RECEIPT:
        # One an arrived lot: each has a date and a supplier's lot of its own.
        parts = [_arrival(happening, base, pk) for pk in happening.put_out]
    else:
        parts = list(_movements(happening, base))
    for number, part in enumerate(parts):
        yield _head(happening, version, number) | part


def _head(happening: TraceEvent, version: int, number: int) -> Event:
    step, disposition, _ = STEPS[happening.act]
    local = timezone.localtime(happening.at)
    head: Event = {
        "eventID": _event_id(happening.operation, version, number),
        "eventTime": _instant(happening.at),
        "eventTimeZoneOffset": f"{local:%z}"[:3] + ":" + f"{local:%z}"[3:5],
        "bizStep": step,
        "disposition": disposition,
        "tarebook:record": happening.operation.reference,
        "tarebook:by": str(happening.by),
    }
    if happening.partner:
        head["tarebook:partner"] = _partner(happening)
    if happening.sent_in:
        head["tarebook:dispatch"] = happening.sent_in
    return head


def _partner(happening: TraceEvent) -> dict[str, str]:
    partner = happening.partner
    assert partner is not None  # noqa: S101 -- the caller looked; this tells the type checker
    known = {
        "tarebook:name": partner.name,
        "tarebook:address": partner.address,
        "tarebook:reference": partner.their_reference,
    }
    return {name: value for name, value in known.items() if value}


def _transformation(happening: TraceEvent, base: str) -> Event:
    event: Event = {"type": "TransformationEvent"}
    if happening.taken:
        event["inputQuantityList"] = _quantities(happening, happening.taken, base)
    if happening.put_out:
        event["outputQuantityList"] = _quantities(happening, happening.put_out, base)
    if not happening.taken or not happening.put_out:
        # Still under way: the standard then asks for a name that joins its parts.
        event["transformationID"] = f"{base}/transformation/{quote(happening.operation.reference)}"
    if len(happening.put_out) == 1:
        event |= _master_data(happening.lots[next(iter(happening.put_out))])
    return event


def _arrival(happening: TraceEvent, base: str, pk: int) -> Event:
    lot = happening.lots[pk]
    amounts = {pk: happening.put_out[pk]}
    return {
        "type": "ObjectEvent",
        "action": STEPS[OperationKind.RECEIPT][2],
        "quantityList": _quantities(happening, amounts, base),
        **_master_data(lot),
    }


def _movements(happening: TraceEvent, base: str) -> Iterator[Event]:
    """What left or came; a count that found less takes away, one that found more adds."""
    action = STEPS[happening.act][2]
    for amounts, of_a_count in ((happening.taken, "DELETE"), (happening.put_out, "ADD")):
        if amounts:
            yield {
                "type": "ObjectEvent",
                "action": action or of_a_count,
                "quantityList": _quantities(happening, amounts, base),
            }


def _master_data(lot: Lot) -> Event:
    """What is true of the whole lot: its name, its date, and the supplier's own lot."""
    known: dict[str, str] = {"cbvmda:descriptionShort": lot.item.name}
    if lot.best_before:
        known["cbvmda:bestBeforeDate"] = lot.best_before.isoformat()
    if line := arrival_of(lot):
        known["tarebook:supplierLot"] = line.supplier_lot
        if line.certificate:
            known["tarebook:certificate"] = str(line.certificate)
    return {"ilmd": known}


def _quantities(happening: TraceEvent, amounts: Amounts, base: str) -> list[Event]:
    return [_quantity(happening.lots[pk], amount, base) for pk, amount in amounts.items()]


def _quantity(lot: Lot, amount: Decimal, base: str) -> Event:
    """Grams below a kilogram, kilograms above; pieces have no unit of measure."""
    element: Event = {"epcClass": lot_address(lot, base), "quantity": amount}
    if lot.item.unit == Unit.GRAM:
        in_kg = amount >= 1000
        element["quantity"] = amount.scaleb(-3) if in_kg else amount
        element["uom"] = KILOGRAM if in_kg else GRAM
    return element


def lot_address(lot: Lot, base: str) -> str:
    """A GS1 Digital Link where the product has a GTIN, or else an address of this book's own."""
    product = getattr(lot.item, "product", None)
    if product is not None and product.gtin:
        return digital_link(KEYS, [("01", gtin14(product.gtin)), ("10", lot.code)])
    return f"{base}/class/{quote(lot.item.code, safe='')}/{lot.code}"


def _instant(at: datetime) -> str:
    return timezone.localtime(at).isoformat(timespec="milliseconds")


def _json(value: Any, depth: int = 0) -> Iterator[str]:
    """JSON with exact decimals, which the json module would turn into floats; indented."""
    if isinstance(value, Decimal):
        yield f"{value.normalize():f}"
    elif isinstance(value, Mapping | list):
        brackets = "{}" if isinstance(value, Mapping) else "[]"
        yield brackets[0]
        for place, item in enumerate(value):
            yield ("," if place else "") + "\n" + "  " * (depth + 1)
            if isinstance(value, Mapping):
                yield json.dumps(item) + ": "
                item = value[item]
            yield from _json(item, depth + 1)
        yield ("\n" + "  " * depth if value else "") + brackets[1]
    else:
        yield json.dumps(value, ensure_ascii=False)
