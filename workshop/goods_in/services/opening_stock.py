"""Take over the stock that was there before the book, and take that back while nothing used it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db import transaction

from workshop.core import formatting
from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.new_tokens import new_token
from workshop.goods_in.models import Certificate, OpeningLot, Receipt, ReceiptLine, Supplier
from workshop.goods_in.services import corrections
from workshop.goods_in.services.receipts import fixed_by
from workshop.ledger import services as ledger
from workshop.ledger.models import Item, Lot, Operation, OperationKind, Place, Posting, Side, Status

NOT_LOOKED_AT = "There before the book: taken over as it stood."
NOT_KNOWN = "not known"


@dataclass(frozen=True, kw_only=True)
class OpeningIn:
    """One lot as it stands on the shelf, with what is known of it.

    `quantity` is what is here and what went out of it before, in the unit of its item.
    """

    item: Item
    quantity: Decimal
    made_on: date
    quantity_as_written: str = ""
    best_before: date | None = None
    status: Status = Status.QUARANTINE
    old_code: str = ""
    note: str = ""
    supplier_lot: str = ""
    certificate: Certificate | None = None
    is_organic: bool = False
    place: Place | None = None


@transaction.atomic
def take_over(
    lots: Iterable[OpeningIn],
    *,
    day: date,
    by: User,
    at: datetime,
    supplier: Supplier | None = None,
) -> Operation:
    """Write lots down as there before the book; with a supplier they are bought ones.

    Raises ActionRefused, and writes nothing, for a lot that cannot be.
    """
    operation = ledger.open_operation(OperationKind.OPENING, by=by, at=at)
    receipt = None
    if supplier:
        receipt = Receipt.objects.create(
            operation=operation, supplier=supplier, received_on=day, note=NOT_LOOKED_AT
        )
    for lot in lots:
        refuse_impossible(lot, day)
        _take_over(operation, receipt, lot, by=by, at=at)
    return ledger.close_operation(operation, by=by, at=at)


def refuse_impossible(lot: OpeningIn, day: date) -> None:
    if lot.made_on > day:
        raise ActionRefused(
            f"{formatting.day(lot.made_on)} is in the future: what is made later was not there "
            "before the book.",
            field="made_on",
        )
    if lot.best_before and lot.best_before < lot.made_on:
        raise ActionRefused(
            "The best-before date lies before the day it was made.", field="best_before"
        )
    if lot.is_organic and lot.certificate is None:
        raise ActionRefused(
            "An organic lot needs the certificate that covers it.", field="certificate"
        )


def _take_over(
    operation: Operation, receipt: Receipt | None, lot: OpeningIn, *, by: User, at: datetime
) -> None:
    made = ledger.create_lot(
        lot.item,
        origin=operation,
        made_on=lot.made_on,
        best_before=lot.best_before,
        status=lot.status,
        by=by,
        at=at,
    )
    posting = ledger.post_held(operation, made, Side.OUT, lot.quantity, by=by, at=at)
    OpeningLot.objects.create(lot=made, old_code=lot.old_code.strip(), note=lot.note.strip())
    if lot.place:
        ledger.put_in_place([made], lot.place, by=by, at=at, token=new_token())
    if receipt:
        _write_arrival(receipt, made, posting, lot)


def _write_arrival(receipt: Receipt, made: Lot, posting: Posting, lot: OpeningIn) -> None:
    ReceiptLine.objects.create(
        receipt=receipt,
        lot=made,
        posting=posting,
        supplier_lot=lot.supplier_lot.strip() or NOT_KNOWN,
        quantity_as_written=lot.quantity_as_written or formatting.number(lot.quantity),
        makers_expiry=lot.best_before,
        certificate=lot.certificate,
        is_organic=lot.is_organic,
        **fixed_by(lot.certificate),
        seal_is_good=True,
        smell_is_good=True,
        look_is_good=True,
        checks_note=NOT_LOOKED_AT,
    )


@transaction.atomic
def take_back(operation: Operation, *, by: User, at: datetime, reason: str) -> None:
    """Take everything of one taking-over back: it was not there.

    Raises ActionRefused unless an owner does it with a reason, and InTheWay, with nothing written,
    once anything has used one of the lots.
    """
    receipt = Receipt.objects.filter(operation=operation).first()
    if receipt:
        lines = list(receipt.lines.effective())
        corrections.take_back(receipt, lines, by=by, at=at, reason=reason)
        return
    lots = Lot.objects.filter(origin=operation)
    ledger.refuse_used(list(lots), of=operation)
    ledger.begin_amendment(operation, by=by, at=at, reason=reason)
    made = Posting.objects.effective().filter(operation=operation).order_by("pk")
    ledger.reverse_all(list(made), by=by, at=at, reason=reason)
    ledger.void_lots(lots, by=by, at=at, reason=reason)
    ledger.close_operation(operation, by=by, at=at)
