"""A supplier's EPCIS 2.0 document read as a delivery: what each line of it says."""

import re
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any
from urllib.parse import unquote, urlsplit

from workshop.core import shown
from workshop.core.errors import Refused
from workshop.goods_in.arrivals import ArrivedLot, LineFault, read_quantity
from workshop.ledger.models import Item, Unit
from workshop.rules.errors import RuleError
from workshop.rules.gs1 import gtin_check_digit, parse_element_string
from workshop.trace.epcis_check import events_in, faults_of, read_document, words

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
LGTIN = re.compile(r"urn:epc:class:lgtin:([0-9]+)\.([0-9])([0-9]*)\.(.+)\Z")
MOST_LINES = 200


@dataclass(frozen=True)
class Line:
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
        return shown.with_unit(self.arrived.quantity, self.arrived.item.unit)


def read_lines(text: str) -> list[Line]:
    """The lots that the document sends. Raises Refused when it cannot be read at all."""
    document = read_document(text)
    if faults := faults_of(document):
        more = f" There are {len(faults) - 5} more." if len(faults) > 5 else ""
        raise Refused(" ".join(faults[:5]) + more)
    told = _deliveries(events_in(document))
    lines = [line for number, event in told for line in _lines_of(number, event)]
    if not lines:
        raise Refused("The document sends nothing: it has no shipping or receiving event of lots.")
    if len(lines) > MOST_LINES:
        raise Refused(f"The document has {len(lines)} lots; one receipt takes {MOST_LINES}.")
    return [replace(line, number=place) for place, line in enumerate(lines, 1)]


def _deliveries(events: Sequence[Mapping[str, Any]]) -> list[tuple[int, Mapping[str, Any]]]:
    """What was shipped; where nothing was, what was received. A declared error counts for none."""
    numbered = [
        (number, event)
        for number, event in enumerate(events, 1)
        if event["type"] == "ObjectEvent"
        and event["action"] != "DELETE"
        and not event.get("errorDeclaration")
        and event.get("disposition") != "returned"
    ]
    for step in ("shipping", "receiving"):
        found = [(number, event) for number, event in numbered if _step(event) == step]
        if found:
            return found
    return []


def _step(event: Mapping[str, Any]) -> str:
    """The business step, also where it is written as a full web address or URN."""
    return re.split(r"[-:/]", words(event.get("bizStep")))[-1]


def _lines_of(number: int, event: Mapping[str, Any]) -> Iterator[Line]:
    ilmd = event.get("ilmd")
    data: Mapping[str, Any] = ilmd if isinstance(ilmd, Mapping) else {}
    elements = event.get("quantityList", [])
    # A description speaks of everything in its event, so of several things it names none.
    name = words(data.get("cbvmda:descriptionShort")) if len(elements) == 1 else ""
    for element in elements:
        address = words(element["epcClass"])
        kind, lot, day = _named(address)
        yield Line(
            0,
            number,
            address,
            kind,
            lot[:60],
            _quantity(element),
            UNITS.get(words(element.get("uom")), words(element.get("uom"))),
            name[:120],
            day or _day(data.get("cbvmda:bestBeforeDate") or data.get("cbvmda:itemExpirationDate")),
        )


def _quantity(element: Mapping[str, Any]) -> str:
    amount = element.get("quantity")
    if amount is None:
        return ""
    unit = words(element.get("uom"))
    return f"{amount:f} {UNITS.get(unit, unit)}".strip()[:40]


def _named(address: str) -> tuple[str, str, date | None]:
    """The kind of thing and the lot in an address: a GS1 key, or another book's own words."""
    if found := LGTIN.match(address):
        company, indicator, rest, lot = found.groups()
        body = f"{indicator}{company}{rest}"[:17]
        return body + gtin_check_digit(body), words(unquote(lot)), None
    try:
        parts = parse_element_string(address)
    except RuleError:
        parts = {}
    if "01" in parts:
        day = _day(_iso(parts.get("15") or parts.get("17") or ""))
        return parts["01"], parts.get("10", ""), day
    path = [words(unquote(part)) for part in re.split(r"[/:]", _path(address)) if part]
    return (path[-2], path[-1], None) if len(path) > 1 else (address, "", None)


def _path(address: str) -> str:
    try:
        return urlsplit(address).path
    except ValueError:  # brackets that hold no number of a machine
        return ""


def _iso(digits: str) -> str:
    return f"20{digits[:2]}-{digits[2:4]}-{digits[4:]}" if len(digits) == 6 else ""


def _day(value: Any) -> date | None:
    try:
        return date.fromisoformat(words(value)[:10])
    except ValueError:
        return None


def judged(
    lines: Iterable[Line],
    items: Mapping[str, Item],
    certified: Collection[int],
    **of_all: Any,
) -> list[Line]:
    """Each line as a lot that arrived, or with what speaks against it.

    `items` says which item each kind of thing is here; `certified` are those that the chosen
    certificate covers; `of_all` is what `ArrivedLot` holds that is the same for the whole delivery.
    """
    return [_judged(line, items.get(line.kind_code), certified, of_all) for line in lines]


def _judged(
    line: Line, item: Item | None, certified: Collection[int], of_all: Mapping[str, Any]
) -> Line:
    if item is None:
        return replace(line, faults=["Choose what this is here."])
    if not line.quantity:
        return replace(line, item=item, faults=["The document gives no quantity."])
    if item.unit == Unit.GRAM and not line.unit:
        # A bare number is a count of pieces there; here it would be read as grams.
        sentence = f"The document counts {line.quantity} pieces, and {item} is weighed."
        return replace(line, item=item, faults=[f"{sentence} Ask the supplier for its weight."])
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


def with_faults(lines: Sequence[Line], faults: Iterable[LineFault]) -> list[Line]:
    """The lines with what the receipt itself says against them."""
    said: dict[int, list[str]] = defaultdict(list)
    for fault in faults:
        said[fault.row].append(fault.sentence)
    return [replace(line, faults=[*line.faults, *said[row]]) for row, line in enumerate(lines)]
