"""What can happen at goods-in: a delivery is received; its lots are released, held or rejected."""

import secrets
from collections.abc import Callable, Sequence
from datetime import date, datetime
from hashlib import sha256

from django.db import transaction
from django.utils import timezone

from workshop.core import formatting
from workshop.core.errors import ActionRefused
from workshop.core.files.uploads import store_upload
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.goods_in.delivery_checks import (
    ArrivedLot,
    LineFault,
    Papers,
    RefusedLines,
    refuse_faults,
)
from workshop.goods_in.models import Certificate, OrganicPapers, Receipt, ReceiptLine, Supplier
from workshop.ledger import services as ledger
from workshop.ledger.models import Item, Lot, OperationKind, Side, Status
from workshop.materials.models import profile_of
from workshop.rules.dates.calendar_days import add_months
from workshop.rules.organic.fraud_prevention import same_name

Draw = Callable[[int], int]


@transaction.atomic
def receive(
    supplier: Supplier,
    arrived: Sequence[ArrivedLot],
    *,
    received_on: date,
    by: User,
    at: datetime,
    delivery_note: str = "",
    note: str = "",
    token: str | None = None,
    repeats_agreed: bool = False,
    papers: Papers | None = None,
    draw: Draw = secrets.randbelow,
) -> Receipt:
    """Take in a delivery: each lot gets a code of ours and waits in quarantine.

    The same token again answers with the receipt already made. Raises ActionRefused about the head
    and RefusedLines about the rows, with nothing written.
    """
    check_idempotency(
        token,
        "receipt",
        supplier=supplier,
        lots=arrived,
        received_on=received_on,
        delivery_note=delivery_note,
        note=note,
        **({"papers": papers} if papers and not papers.is_empty else {}),
    )
    operation = ledger.open_operation(OperationKind.RECEIPT, by=by, at=at, token=token)
    known = Receipt.objects.filter(operation=operation).first()
    if known:
        return known
    _refuse_head(supplier, arrived, received_on, timezone.localdate(at))
    refuse_faults(supplier, arrived, received_on=received_on, repeats_agreed=repeats_agreed)
    receipt = Receipt.objects.create(
        operation=operation,
        supplier=supplier,
        received_on=received_on,
        delivery_note=delivery_note.strip(),
        note=note.strip(),
    )
    lines = [
        _take_in(receipt, row, lot, by=by, at=at, draw=draw) for row, lot in enumerate(arrived)
    ]
    if papers and not papers.is_empty:
        _keep_papers(receipt, papers, lines, by=by, at=at)
    return seal_receipt(receipt, by=by, at=at)


def seal_receipt(receipt: Receipt, *, by: User, at: datetime) -> Receipt:
    """Close the receipt with all that it says now, for the first time or after an amendment."""
    receipt.operation = ledger.close_operation(receipt.operation, by=by, at=at)
    return receipt


def _refuse_head(
    supplier: Supplier, arrived: Sequence[ArrivedLot], received_on: date, today: date
) -> None:
    if not supplier.is_active:
        raise ActionRefused(f"{supplier} is no longer an active supplier.", field="supplier")
    if received_on > today:
        raise ActionRefused(
            f"{formatting.day(received_on)} is in the future. Give the day the delivery arrived.",
            field="received_on",
        )
    if not arrived:
        raise ActionRefused("A receipt needs at least one lot.")


def _take_in(
    receipt: Receipt, row: int, arrived: ArrivedLot, *, by: User, at: datetime, draw: Draw
) -> ReceiptLine:
    lot = ledger.create_lot(
        arrived.item,
        origin=receipt.operation,
        made_on=receipt.received_on,
        best_before=good_until(arrived.item, arrived.makers_expiry, receipt.received_on),
        by=by,
        at=at,
        draw=draw,
    )
    # Made from the receipt's own token, so that the same history gives the same seals.
    token = sha256(f"{receipt.operation.token}/{row}".encode()).hexdigest()
    try:
        posting = ledger.post(
            receipt.operation, lot, Side.OUT, arrived.quantity, by=by, at=at, token=token
        )
    except ActionRefused as error:
        raise RefusedLines([LineFault(row, "quantity", error.message)]) from error
    return ReceiptLine.objects.create(
        receipt=receipt,
        lot=lot,
        posting=posting,
        supplier_lot=arrived.supplier_lot.strip(),
        quantity_as_written=arrived.quantity_as_written.strip(),
        supplier_gtin=arrived.supplier_gtin,
        makers_expiry=arrived.makers_expiry,
        certificate=arrived.certificate,
        is_organic=arrived.is_organic,
        **fixed_by(arrived.certificate),
        analysis=store_upload(arrived.analysis, by=by, at=at) if arrived.analysis else None,
        seal_is_good=arrived.seal_is_good,
        smell_is_good=arrived.smell_is_good,
        look_is_good=arrived.look_is_good,
        temperature_c=arrived.temperature_c,
        checks_note=arrived.checks_note.strip(),
        cost=arrived.cost,
    )


def fixed_by(certificate: Certificate | None) -> dict[str, str]:
    """What a certificate says on the day: it stays with the lot."""
    if certificate is None:
        return {}
    return {"scheme": certificate.scheme, "operation_number": certificate.operation_number}


def _keep_papers(
    receipt: Receipt, papers: Papers, lines: Sequence[ReceiptLine], *, by: User, at: datetime
) -> None:
    """Write down what the papers say; organic lots under another name are held."""
    if papers.checked_on and papers.checked_on > timezone.localdate(at):
        raise ActionRefused(
            f"{formatting.day(papers.checked_on)} is in the future.", field="checked_on"
        )
    OrganicPapers.objects.create(
        receipt=receipt,
        name_on_papers=papers.name_on_papers,
        import_certificate=papers.import_certificate,
        checked_on=papers.checked_on,
        checked_by=(papers.checked_by or str(by)) if papers.checked_on else "",
        practices=list(papers.practices),
    )
    for line in lines if papers.name_on_papers else ():
        if line.certificate and line.is_organic:
            holder = line.certificate.holders_name
            if not same_name(papers.name_on_papers, holder):
                reason = f"The papers name {papers.name_on_papers}, the certificate {holder}."
                ledger.set_lot_status(line.lot, Status.ON_HOLD, by=by, at=at, reason=reason[:300])


def good_until(item: Item, makers_expiry: date | None, received_on: date) -> date | None:
    """The maker's expiry, or else the day of receipt and the material's own shelf life."""
    if makers_expiry:
        return makers_expiry
    profile = profile_of(item)
    if profile is None or not profile.shelf_life_months:
        return None
    return add_months(received_on, profile.shelf_life_months)


@transaction.atomic
def release_lot(lot: Lot, *, by: User, at: datetime, reason: str = "") -> Lot:
    """Let a lot be used. Why is asked when it was held or not found good on arrival."""
    return ledger.set_lot_status(lot, Status.RELEASED, by=by, at=at, reason=reason)


@transaction.atomic
def release_sound_lots(receipt: Receipt, *, by: User, at: datetime) -> list[Lot]:
    """Release the lots of a receipt that wait in quarantine, were found good and are in date."""
    lots = [line.lot for line in receipt.lines.waiting_and_sound(timezone.localdate(at))]
    return [release_lot(lot, by=by, at=at) for lot in lots]


@transaction.atomic
def hold_lot(lot: Lot, *, by: User, at: datetime, reason: str) -> Lot:
    """Keep a lot from being used until an owner has decided."""
    return ledger.set_lot_status(lot, Status.ON_HOLD, by=by, at=at, reason=reason)


@transaction.atomic
def reject_lot(lot: Lot, *, by: User, at: datetime, reason: str) -> Lot:
    """Say that a lot must never be used."""
    return ledger.set_lot_status(lot, Status.REJECTED, by=by, at=at, reason=reason)
