"""The sheet of stock that was there before the book: raw, packaging, bulk and finished."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.utils import timezone

from workshop.core.errors import ActionRefused
from workshop.core.saving.new_tokens import new_token
from workshop.dispatch.models import Customer
from workshop.dispatch.services.dispatches import dispatch
from workshop.goods_in.models import Certificate, OpeningLot, Supplier
from workshop.goods_in.services.opening_stock import (
    NOT_KNOWN,
    OpeningIn,
    refuse_impossible,
    take_over,
)
from workshop.ledger.models import Item, ItemKind, Lot, Place, Status, Unit
from workshop.materials.models import profile_of
from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import parse_count
from workshop.transfer.spreadsheets.columns import Column, day, lines, one_of, text, yes_no
from workshop.transfer.spreadsheets.kinds import (
    Desk,
    Row,
    SheetKind,
    mass,
    of_each,
    supplier_named,
)

STATUSES = {status.label: status for status in Status} | {"on hold": Status.ON_HOLD}
BEFORE = "before the book"
BOUGHT = (ItemKind.MATERIAL, ItemKind.PACKAGING)
Known = set[tuple[int, str, str]]
Sent = dict[tuple[Customer, date], dict[Lot, Decimal]]
STOCK = SheetKind(
    "stock",
    "Opening stock",
    [
        Column(
            "item",
            "Item",
            text(120),
            required=True,
            also=["material", "product", "name", "item code"],
            example="Plain balm 60 g",
        ),
        Column("quantity", "Quantity on hand", text(40), also=["quantity", "on hand", "amount"],
               example="24", help="“5 kg”, “2 lb”, “3 x 48”; without a unit grams, or pieces"),
        Column("old_code", "Code on it", text(40), also=["lot", "batch", "lot code", "batch code"],
               example="PB 0417"),
        Column("supplier", "Supplier", text(120), help="of what was bought"),
        Column("supplier_lot", "Supplier lot", text(60), also=["supplier's lot"]),
        Column("made_on", "Made or received on", day, required=True,
               also=["made on", "received on", "date"], example="2026-04-17"),
        Column("best_before", "Best before", day, also=["expiry", "expires"], example="2027-04-17"),
        Column("status", "Status", one_of(STATUSES), example="released",
               help="quarantine, unless it says otherwise"),
        Column("is_organic", "Organic", yes_no),
        Column("certificate", "Certificate", text(60), help="its number, for an organic lot"),
        Column("sent_to", "Sent to", text(120), also=["customer"],
               help="one row for each customer; the quantity need stand in the first only"),
        Column("sent", "Sent", text(40), also=["units sent"]),
        Column("sent_on", "Sent on", day),
        Column("place", "Place", text(60), help="where it stands, as entered under Places"),
        Column("note", "Note", lines(300)),
    ],
    together="lot",
)  # fmt: skip


@dataclass(frozen=True)
class Sending:
    """Units of a lot that a customer was sent before the book."""

    customer: Customer
    units: Decimal
    sent_on: date


@dataclass(frozen=True)
class StockLot:
    """A lot to be taken over, of which supplier, and what of it went out before."""

    lot: OpeningIn
    supplier: Supplier | None
    sendings: Sequence[Sending]


def lots_together(
    rows: Sequence[tuple[int, Row]],
) -> Iterator[list[tuple[int, Row]]]:
    """The rows of each lot: the same item and the same code on it."""
    groups: dict[tuple[str, str, str], list[tuple[int, Row]]] = {}
    for number, row in rows:
        key = (row["item"].lower(), row.get("old_code") or "", row.get("supplier_lot") or "")
        groups.setdefault(key, []).append((number, row))
    yield from groups.values()


def understood(rows: Sequence[Row], desk: Desk, known: Known) -> StockLot | None:
    """The lot that some rows are about, or None where the book has it already (`known_lots`).

    Raises ActionRefused with the column at fault.
    """
    first = rows[0]
    item = desk.need(first["item"], "item")
    code, theirs = first.get("old_code") or "", first.get("supplier_lot") or ""
    if not code and not theirs:
        raise ActionRefused(
            "Give the code on it, or the supplier's lot: by that it is found again.",
            field="old_code",
        )
    if (item.pk, code, theirs or NOT_KNOWN if item.kind in BOUGHT else "") in known:
        return None
    supplier = supplier_named(first["supplier"], desk) if first.get("supplier") else None
    if supplier is None and item.kind in BOUGHT:
        raise ActionRefused("What was bought has a supplier.", field="supplier")
    sendings = [one for one in of_each(rows, lambda row: _sending(row, item, desk)) if one]
    lot = OpeningIn(
        item=item,
        quantity=_on_hand(first, item) + sum((one.units for one in sendings), Decimal(0)),
        quantity_as_written=first.get("quantity") or "",
        made_on=first["made_on"],
        best_before=first.get("best_before"),
        status=first.get("status") or Status.QUARANTINE,
        old_code=code,
        note=first.get("note") or "",
        supplier_lot=theirs,
        is_organic=bool(first.get("is_organic")),
        certificate=_certificate(first, supplier),
        place=_place(first, desk),
    )
    refuse_impossible(lot, timezone.localdate(desk.at))
    _refuse_nothing(lot)
    of_each(rows, lambda row: _refuse_unsent(row, lot))
    return StockLot(lot, supplier if item.kind in BOUGHT else None, sendings)


def _place(row: Row, desk: Desk) -> Place | None:
    name = row.get("place")
    if not name:
        return None
    found: Place | None = desk.partner(Place, name)
    if found is None or not found.is_active:
        raise ActionRefused(f"There is no place “{name}” in use yet.", field="place")
    return found


def known_lots() -> Known:
    """What was taken over before and not taken back since: item, code on it, supplier's lot."""
    rows = OpeningLot.objects.exclude(lot__status=Status.REJECTED).values_list(
        "lot__item", "old_code", "lot__receipt_line__supplier_lot"
    )
    return {(item, code, theirs or "") for item, code, theirs in rows}


def _on_hand(row: Row, item: Item) -> Decimal:
    said = row.get("quantity") or ""
    return _amount(said, "quantity", item) if said not in ("", "0") else Decimal(0)


def _refuse_nothing(lot: OpeningIn) -> None:
    if not lot.quantity:
        raise ActionRefused("Say how much of it is here, or where it went.", field="quantity")


def _refuse_unsent(row: Row, lot: OpeningIn) -> None:
    """What a dispatch would refuse, said beside the cell that it is about."""
    sent_on = row.get("sent_on")
    if not row.get("sent_to") or sent_on is None:
        return
    if lot.status != Status.RELEASED:
        raise ActionRefused("Only a released lot can have been sent out.", field="status")
    if sent_on < lot.made_on:
        raise ActionRefused("It was sent before it was made.", field="sent_on")
    if lot.best_before is not None and lot.best_before < sent_on:
        raise ActionRefused("It was sent after its best-before date.", field="sent_on")


def _amount(said: str, column: str, item: Item) -> Decimal:
    if item.unit == Unit.GRAM:
        profile = profile_of(item)
        return mass(said, column, profile.density_g_per_ml if profile else None)
    try:
        return Decimal(parse_count(said))
    except RuleError as error:
        raise ActionRefused(str(error), field=column) from error


def _sending(row: Row, item: Item, desk: Desk) -> Sending | None:
    said = row.get("sent_to")
    if not said:
        if row.get("sent") not in (None, "", "0") or row.get("sent_on"):
            raise ActionRefused("Say to whom it was sent.", field="sent_to")
        return None
    customer: Customer | None = desk.partner(Customer, said)
    if customer is None:
        desk.refuse_missing(f"There is no customer “{said}” yet.", said, "sent_to")
    assert customer is not None  # noqa: S101 -- for the type checker
    if item.kind != ItemKind.PRODUCT:
        raise ActionRefused("Only finished products were sent out.", field="sent_to")
    if row.get("sent_on") is None:
        raise ActionRefused("Say on which day it was sent.", field="sent_on")
    return Sending(customer, _amount(row.get("sent") or "", "sent", item), row["sent_on"])


def _certificate(row: Row, supplier: Supplier | None) -> Certificate | None:
    number = row.get("certificate")
    if not number:
        return None
    found = Certificate.objects.filter(number__iexact=number, supplier=supplier).first()
    if found is None:
        raise ActionRefused(
            f"There is no certificate {number} of this supplier yet.", field="certificate"
        )
    return found


def write_stock(found: Sequence[StockLot], desk: Desk) -> None:
    """All lots, those of one supplier in one operation; then what of them went out before."""
    by_supplier: dict[Any, list[StockLot]] = {}
    for one in found:
        by_supplier.setdefault(one.supplier, []).append(one)
    today = timezone.localdate(desk.at)
    sent: Sent = {}
    for supplier, group in by_supplier.items():
        lots_in = [one.lot for one in group]
        operation = take_over(desk.counted(lots_in), day=today, supplier=supplier, **desk.act)
        lots = Lot.objects.filter(origin=operation).select_related("item").order_by("pk")
        for one, lot in zip(group, lots, strict=True):
            _note_sendings(one.sendings, lot, sent)
    for (customer, sent_on), units_of in sent.items():
        lines = list(units_of.items())
        dispatch(customer, lines, sent_on=sent_on, note=BEFORE, token=new_token(), **desk.act)


def _note_sendings(sendings: Sequence[Sending], lot: Lot, sent: Sent) -> None:
    """What went to one customer on one day is one dispatch, whatever the lots."""
    for sending in sendings:
        units_of = sent.setdefault((sending.customer, sending.sent_on), {})
        units_of[lot] = units_of.get(lot, Decimal(0)) + sending.units
