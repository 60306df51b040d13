"""Put a receipt right: take lots back that never came in, or correct what was written down."""

from collections.abc import Sequence
from datetime import date, datetime

from django.db import transaction

from workshop.core import formatting
from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.goods_in.delivery_checks import EXPIRED_BEFORE, NO_SUPPLIER_LOT
from workshop.goods_in.models import Receipt, ReceiptLine
from workshop.goods_in.services import good_until, seal_receipt
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot
from workshop.ledger.services import Fact


@transaction.atomic
def take_back(
    receipt: Receipt,
    lines: Sequence[ReceiptLine],
    *,
    by: User,
    at: datetime,
    reason: str,
    token: str | None = None,
) -> Receipt:
    """Take lots of a receipt back: they never came in, and nothing may use them.

    The same token again answers as before. Raises ActionRefused unless an owner does it with a
    reason, and InTheWay, with nothing written, once anything has used one of the lots.
    """
    rows = list(receipt.lines.filter(pk__in=[line.pk for line in lines]).with_lots())
    if check_idempotency(token, "receipt taken back", lots=[row.pk for row in rows], reason=reason):
        return receipt
    rows = [row for row in rows if row.taken_back is None]
    if not rows:
        raise ActionRefused("That was taken back before.")
    ledger.refuse_used([row.lot for row in rows], of=receipt.operation)
    amendment = ledger.begin_amendment(receipt.operation, by=by, at=at, reason=reason)
    ledger.reverse_all([row.posting for row in rows], by=by, at=at, reason=reason)
    ReceiptLine.objects.filter(pk__in=[row.pk for row in rows]).update(taken_back=amendment)
    lots = Lot.objects.filter(pk__in=[row.lot_id for row in rows])
    ledger.void_lots(lots, by=by, at=at, reason=reason)
    return seal_receipt(receipt, by=by, at=at)


@transaction.atomic
def correct_receipt(
    receipt: Receipt,
    *,
    delivery_note: str,
    note: str,
    by: User,
    at: datetime,
    reason: str,
    token: str | None = None,
) -> Receipt:
    """Correct the number of the delivery note, or the note; what they were stays to be read."""
    content = {"delivery_note": delivery_note, "note": note, "reason": reason}
    if check_idempotency(token, "receipt corrected", receipt=receipt, **content):
        return receipt
    row = Receipt.objects.select_for_update(of=("self",)).get(pk=receipt.pk)
    facts = [
        Fact("delivery note", row.delivery_note, delivery_note.strip()),
        Fact("note", row.note, note.strip()),
    ]
    amendment = ledger.begin_amendment(row.operation, by=by, at=at, reason=reason)
    ledger.note_facts(amendment, facts)
    row.delivery_note, row.note = delivery_note.strip(), note.strip()
    row.save(update_fields=["delivery_note", "note"])
    return seal_receipt(row, by=by, at=at)


@transaction.atomic
def correct_line(
    line: ReceiptLine,
    *,
    supplier_lot: str,
    makers_expiry: date | None,
    by: User,
    at: datetime,
    reason: str,
    token: str | None = None,
) -> ReceiptLine:
    """Correct the supplier's lot or the maker's expiry; the lot's own date follows.

    Raises ActionRefused unless an owner does it with a reason, for a lot taken back, and for an
    expiry before the day of receipt.
    """
    content = {"supplier_lot": supplier_lot, "makers_expiry": makers_expiry, "reason": reason}
    if check_idempotency(token, "receipt line corrected", line=line, **content):
        return line
    row = ReceiptLine.objects.select_for_update(of=("self",)).with_lots().get(pk=line.pk)
    facts = [
        Fact("supplier lot", row.supplier_lot, supplier_lot.strip(), row.lot),
        Fact("maker's expiry", _said(row.makers_expiry), _said(makers_expiry), row.lot),
    ]
    _validate_facts(row, supplier_lot, makers_expiry)
    amendment = ledger.begin_amendment(row.receipt.operation, by=by, at=at, reason=reason)
    ledger.note_facts(amendment, facts)
    row.supplier_lot = supplier_lot.strip()
    row.save(update_fields=["supplier_lot"])
    if makers_expiry != row.makers_expiry:
        change_expiry(row, makers_expiry, by=by, at=at, reason=reason)
    seal_receipt(row.receipt, by=by, at=at)
    return row


def change_expiry(
    line: ReceiptLine, makers_expiry: date | None, *, by: User, at: datetime, reason: str
) -> None:
    """The one way by which a lot that came in gets another date, within an amendment."""
    line.makers_expiry = makers_expiry
    line.save(update_fields=["makers_expiry"])
    until = good_until(line.lot.item, makers_expiry, line.receipt.received_on)
    ledger.change_best_before(line.lot, until, by=by, at=at, reason=reason)


def _validate_facts(line: ReceiptLine, supplier_lot: str, makers_expiry: date | None) -> None:
    if line.taken_back:
        raise ActionRefused(f"Lot {line.lot} was taken back; there is nothing to correct.")
    if not supplier_lot.strip():
        raise ActionRefused(NO_SUPPLIER_LOT, field="supplier_lot")
    if makers_expiry and makers_expiry < line.receipt.received_on:
        days = {
            "expiry": formatting.day(makers_expiry),
            "received": formatting.day(line.receipt.received_on),
        }
        raise ActionRefused(EXPIRED_BEFORE.format(**days), field="makers_expiry")


def _said(day: date | None) -> str:
    return formatting.day(day) if day else ""
