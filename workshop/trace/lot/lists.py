"""The four lists of a trace in full: what was bought, made on the way, made of it, and sent."""

from decimal import Decimal
from typing import Any

from django.urls import reverse

from workshop.core.formatting import day
from workshop.core.lists.columns import Amount, Column, Day, LotTag, Name, Operation, State
from workshop.core.lists.listing import Listing
from workshop.goods_in.models import Supplier
from workshop.ledger.lists import lot_page
from workshop.ledger.models import Lot
from workshop.trace.lot.result import Descendant, Sending, Source

STRAINED_OUT = "strained out"


def lists_of(lot: Lot) -> dict[str, Listing]:
    """By their name in addresses; a column about this lot is in its own unit."""
    return {
        "bought": _bought(),
        "made-here": _made_here(),
        "went-into": _went_into(lot),
        "customers": _sent(lot),
    }


def _unit(row: Source | Descendant) -> str:
    return str(row.lot.item.unit)


def _tag() -> LotTag:
    return LotTag(
        "Lot",
        lambda row: row.lot.shown_code,
        to=lambda row: reverse("trace:lot", args=[row.lot.code]),
    )


def _item(place: str = "c4") -> Name:
    return Name("Item", lambda row: row.lot.item, place=place)


def _status() -> State:
    return State(
        "State",
        lambda row: row.lot.get_status_display(),
        key_of=lambda row: row.lot.status,
    )


def _operation(head: str) -> Operation:
    """What brought the lot into the book, by whom."""
    return Operation(
        head,
        lambda row: row.lot.origin,
        to=lambda row: f"{reverse('front:scan')}?q={row.lot.origin.reference}",
        below=lambda row: row.who.said or f"by {row.lot.origin.opened_by}",
        place="",
    )


def _made_on(head: str) -> Day:
    return Day(head, lambda row: row.lot.made_on)


def _inside(row: Any) -> Decimal | None:
    return None if row.is_strained_out else row.inside


def _if_strained_out(row: Any) -> str:
    return STRAINED_OUT if row.is_strained_out else ""


def _of_this_lot(lot: Lot) -> Amount:
    return Amount("Of this lot in it", _inside, below=_if_strained_out, unit=lot.item.unit)


def _in_this_lot() -> Amount:
    return Amount("Of that in this lot", _inside, below=_if_strained_out, unit=_unit, place="")


def _supplier(row: Source) -> Supplier | None:
    return row.arrival.receipt.supplier if row.arrival else None


def _supplier_page(row: Source) -> str:
    supplier = _supplier(row)
    return reverse("goods_in:supplier", args=[supplier.pk]) if supplier else ""


def _reached_by(row: Source) -> str:
    supplier = _supplier(row)
    return _joined(supplier.contact, supplier.telephone, supplier.email) if supplier else ""


def _joined(*parts: str) -> str:
    return ", ".join(part for part in parts if part)


def _certificate(row: Source) -> str:
    held = row.arrival.certificate if row.arrival else None
    return held.number if held else ""


def _certificate_page(row: Source) -> str:
    held = row.arrival.certificate if row.arrival else None
    return reverse("goods_in:certificate", args=[held.pk]) if held else ""


def _certified(row: Source) -> str:
    held = row.arrival.certificate if row.arrival else None
    if held is None:
        return ""
    return f"of {held.certifier}, {day(held.valid_from)} to {day(held.valid_to)}"


def _bought() -> Listing:
    return Listing(
        columns=[
            _tag(),
            _item(),
            Column("Supplier", _supplier, to=_supplier_page, below=_reached_by),
            Column("Supplier lot", lambda row: row.arrival.supplier_lot if row.arrival else ""),
            Column("Certificate", _certificate, to=_certificate_page, below=_certified),
            _made_on("Received"),
            _operation("In"),
            Amount("Taken", lambda row: row.taken, unit=_unit),
            _in_this_lot(),
        ],
        order=(),
        none="Nothing was bought for it.",
        search_word="Lot, item, supplier or certificate",
        days="lot__made_on",
        days_word="Received from",
        file="bought",
    )


def _made_here() -> Listing:
    return Listing(
        columns=[
            _tag(),
            _item(),
            _made_on("Made on"),
            _operation("Made in"),
            _status(),
            Amount("Taken", lambda row: row.taken, unit=_unit),
            _in_this_lot(),
        ],
        order=(),
        none="Nothing was made here on the way to it.",
        search_word="Lot, item or operation",
        days="lot__made_on",
        days_word="Made from",
        file="made-here",
    )


def _went_into(lot: Lot) -> Listing:
    return Listing(
        columns=[
            _tag(),
            _item(),
            _status(),
            _made_on("Made on"),
            _operation("Made in"),
            _of_this_lot(lot),
            Amount("Made", lambda row: row.balance.came_in, unit=_unit, place=""),
            Amount("Used", lambda row: row.balance.used, unit=_unit, place=""),
            Amount("On its way", lambda row: row.on_its_way, unit=_unit, place=""),
            Amount("With customers", lambda row: row.with_customers, unit=_unit, place=""),
            Amount("Written off", lambda row: row.balance.discarded, unit=_unit, place=""),
            Amount("On hand", lambda row: row.balance.on_hand, unit=_unit, place=""),
            Amount("Retained", lambda row: row.retained or None, unit=_unit, place=""),
        ],
        order=(),
        none="Nothing was made from it.",
        search_word="Lot, item or operation",
        days="lot__made_on",
        days_word="Made from",
        file="went-into",
    )


def _customer_contact(row: Sending) -> str:
    return _joined(row.customer.contact, row.customer.telephone, row.customer.email)


def _sent(lot: Lot) -> Listing:
    own = [] if lot.item.kind == "product" else [_of_this_lot(lot)]
    return Listing(
        columns=[
            Name(
                "Customer",
                lambda row: row.customer,
                to=lambda row: reverse("dispatch:customer", args=[row.dispatch.customer_id]),
                below=_customer_contact,
                place="c1",
            ),
            LotTag(
                "Lot", lambda row: row.lot.shown_code, to=lambda row: lot_page(row.lot), place=""
            ),
            _item(),
            Operation(
                "Dispatch",
                lambda row: row.dispatch,
                to=lambda row: reverse(
                    "dispatch:dispatch", args=[row.dispatch.operation.reference]
                ),
                below=lambda row: f"by {', '.join(row.sent_by)}" if row.sent_by else "",
                place="",
            ),
            Day("Sent on", lambda row: row.dispatch.sent_on),
            State(
                "State",
                lambda row: "on its way" if row.is_on_its_way else "",
                key_of=lambda row: "under_way",
            ),
            Amount("Units sent", lambda row: row.units, unit="each"),
            Amount("Came back", lambda row: row.back, unit="each", place=""),
            Amount("Outstanding", lambda row: row.still_out, unit="each", place=""),
            *own,
        ],
        order=(),
        none="Nobody was sent any of it.",
        search_word="Customer, lot or dispatch",
        days="dispatch__sent_on",
        days_word="Sent from",
        file="sent",
    )
