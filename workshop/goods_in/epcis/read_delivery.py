"""A supplier's EPCIS 2.0 document read as a delivery: what each line of it says."""

import re
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from workshop.core import formatting
from workshop.core.errors import ActionRefused
from workshop.goods_in.delivery_checks import ArrivedLot, LineFault
from workshop.goods_in.epcis.identifiers import named
from workshop.goods_in.epcis.validation import LISTS, events_in, faults_of, read_document, words
from workshop.goods_in.named_items import read_quantity
from workshop.ledger.models import Item, Unit
from workshop.rules.errors import RuleError

# UN/ECE Recommendation 20 codes as the words that a quantity is read in.
UNITS = {
    "GRM": "g",
    "KGM": "kg",
    "MGM": "mg",
    "LBR": "lb",
    "ONZ": "oz",
    "LTR": "L",
    "MLT": "mL",
    "EA": "",
    "H87": "",
    "C62": "",
}
MOST_LINES = 200
LONGEST_LOT = 60
DATES = ("cbvmda:bestBeforeDate", "cbvmda:itemExpirationDate")
Event = Mapping[str, Any]


@dataclass(frozen=True)
class DeliveryLine:
    """One lot of the document, and what became of it here."""

    number: int
    event: int
    address: str
    kind_code: str
    supplier_lot: str
    quantity: str
    unit: str = ""
    name: str = ""
    best_before: date | None = None
    item: Item | None = None
    arrived: ArrivedLot | None = None
    faults: list[str] = field(default_factory=list)

    @property
    def taken_in(self) -> str:
        """What will be written for a sound line."""
        if self.arrived is None:
            return ""
        return formatting.with_unit(self.arrived.quantity, self.arrived.item.unit)


def read_lines(text: str) -> list[DeliveryLine]:
    """The lots that the document sends. Raises ActionRefused when it cannot be read at all."""
    events = _sound_events(text)
    told = _deliveries(events)
    facts = _facts_of_lots(events)
    lines = [line for number, event in told for line in _lines_of(number, event, facts)]
    if not lines:
        why = "The document sends nothing: it has no shipping or receiving event of lots."
        raise ActionRefused(" ".join([why, *_left_out(events, told)]))
    if len(lines) > MOST_LINES:
        raise ActionRefused(f"The document has {len(lines)} lots; one receipt takes {MOST_LINES}.")
    return [replace(line, number=place) for place, line in enumerate(lines, 1)]


def passed_over(text: str) -> list[str]:
    """What else stands in the document and is not taken in, in sentences."""
    events = _sound_events(text)
    return _left_out(events, _deliveries(events))


def _sound_events(text: str) -> list[Event]:
    document = read_document(text)
    if faults := faults_of(document):
        more = f" There are {len(faults) - 5} more." if len(faults) > 5 else ""
        raise ActionRefused(" ".join(faults[:5]) + more)
    return events_in(document)


def _deliveries(events: Sequence[Event]) -> list[tuple[int, Event]]:
    """What was shipped; where nothing was, what was received. A declared error counts for none."""
    numbered = [
        (number, event)
        for number, event in _standing(events)
        if event["type"] == "ObjectEvent"
        and event["action"] != "DELETE"
        and event.get("disposition") != "returned"
    ]
    for step in ("shipping", "receiving"):
        found = [(number, event) for number, event in numbered if _step(event) == step]
        if found:
            return found
    return []


def _standing(events: Sequence[Event]) -> list[tuple[int, Event]]:
    """Events by number, without those declared erroneous.

    The declaration is a second event under the same id, and the first may still be in the file.
    """
    withdrawn = {words(event.get("eventID")) for event in events if event.get("errorDeclaration")}
    return [
        (number, event)
        for number, event in enumerate(events, 1)
        if not event.get("errorDeclaration")
        and (words(event.get("eventID")) or number) not in withdrawn
    ]


def _left_out(events: Sequence[Event], told: Sequence[tuple[int, Event]]) -> list[str]:
    numbers = {number for number, _ in told}
    others = [event for number, event in enumerate(events, 1) if number not in numbers]
    sentences = []
    if others:
        steps = Counter(_step(event)[:40] or words(event["type"]) for event in others)
        named_steps = ", ".join(f"{count} {step}" for step, count in steps.most_common(5))
        sentences.append(f"Other events in the file are passed over: {named_steps}.")
    return sentences + [
        f"Event {number} also sends things by numbers of their own (epcList:"
        f" {len(event['epcList'])}), without a lot and a quantity; they are not imported."
        for number, event in told[:5]
        if isinstance(event.get("epcList"), list) and event["epcList"]
    ]


def _step(event: Event) -> str:
    """The business step, also where it is written as a full web address or URN."""
    return re.split(r"[-:/]", words(event.get("bizStep")))[-1]


def _facts_of_lots(events: Sequence[Event]) -> dict[str, Event]:
    """What the document says of each lot anywhere: often where it was made, not where it left."""
    facts: dict[str, Event] = {}
    for _, event in _standing(events):
        elements = [element for name in LISTS for element in event.get(name, [])]
        made = elements if event["type"] == "ObjectEvent" else event.get("outputQuantityList", [])
        for element in made:
            address = words(element["epcClass"])
            facts[address] = {**facts.get(address, {}), **_facts(event, made)}
    return facts


def _facts(event: Event, elements: Sequence[Event]) -> Event:
    """A description speaks of everything in its event, so of several things it names none."""
    ilmd = event.get("ilmd")
    known = dict(ilmd) if isinstance(ilmd, Mapping) else {}
    if len(elements) > 1:
        known.pop("cbvmda:descriptionShort", None)
    return known


def _lines_of(number: int, event: Event, facts: Mapping[str, Event]) -> Iterator[DeliveryLine]:
    elements = event.get("quantityList", [])
    for element in elements:
        address = words(element["epcClass"])
        kind, lot, day = named(address)
        if len(lot) > LONGEST_LOT:
            raise ActionRefused(
                f"Event {number}: lot {lot[:20]}… is longer than {LONGEST_LOT} characters."
            )
        data = {**facts.get(address, {}), **_facts(event, elements)}
        yield DeliveryLine(
            0,
            number,
            address,
            kind,
            lot,
            _quantity(element),
            UNITS.get(words(element.get("uom")), words(element.get("uom"))),
            words(data.get("cbvmda:descriptionShort"))[:120],
            day or _best_before(number, data),
        )


def _quantity(element: Event) -> str:
    amount = element.get("quantity")
    if amount is None:
        return ""
    unit = words(element.get("uom"))
    return f"{amount:f} {UNITS.get(unit, unit)}".strip()


def _best_before(number: int, data: Event) -> date | None:
    for name in DATES:
        if said := data.get(name):
            try:
                return date.fromisoformat(words(said)[:10])
            except ValueError as error:
                raise ActionRefused(
                    f"Event {number}: its {name} is not a day like 2027-06-30."
                ) from error
    return None


def judged(
    lines: Iterable[DeliveryLine],
    items: Mapping[str, Item],
    certified: Collection[int],
    **of_all: Any,
) -> list[DeliveryLine]:
    """Each line as a lot that arrived, or with what speaks against it.

    `items` says which item each kind of thing is here; `certified` are those that the chosen
    certificate covers; `of_all` is what `ArrivedLot` holds that is the same for the whole delivery.
    """
    return [_judged(line, items.get(line.kind_code), certified, of_all) for line in lines]


def _judged(
    line: DeliveryLine, item: Item | None, certified: Collection[int], of_all: Mapping[str, Any]
) -> DeliveryLine:
    if item is None:
        return replace(line, faults=["Choose what this is here."])
    if not line.quantity:
        return replace(line, item=item, faults=["The document gives no quantity."])
    if item.unit == Unit.GRAM and not line.unit:
        # A bare number is a count of pieces there; here it would be read as grams.
        sentence = f"The document counts {line.quantity} pieces, and {item} is weighed."
        return replace(line, item=item, faults=[f"{sentence} Ask the supplier for its weight."])
    if line.unit not in UNITS.values():
        # Codes of the standard are not words: its KG is a keg.
        sentence = f"{line.unit} is not a unit known here."
        return replace(line, item=item, faults=[f"{sentence} Ask for one of {', '.join(UNITS)}."])
    try:
        quantity = read_quantity(item, line.quantity)
    except RuleError as error:
        return replace(line, item=item, faults=[str(error)])
    values = dict(of_all)
    if item.pk not in certified:
        values["certificate"] = None
    lot = ArrivedLot(
        item=item,
        supplier_lot=line.supplier_lot,
        quantity=quantity,
        quantity_as_written=line.quantity,
        makers_expiry=line.best_before,
        is_organic=item.pk in certified,
        **values,
    )
    return replace(line, item=item, arrived=lot)


def with_faults(lines: Sequence[DeliveryLine], faults: Iterable[LineFault]) -> list[DeliveryLine]:
    """The lines with what the receipt itself says against them."""
    said: dict[int, list[str]] = defaultdict(list)
    for fault in faults:
        said[fault.row].append(fault.sentence)
    return [replace(line, faults=[*line.faults, *said[row]]) for row, line in enumerate(lines)]
