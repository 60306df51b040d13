"""Decide about a batch: release, hold or reject its bulk; close it, stop it, open it again."""

from datetime import datetime

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.formatting import with_unit
from workshop.core.models import User
from workshop.core.saving.new_tokens import new_token
from workshop.core.signature import Confirmed
from workshop.kettle.models import Batch, BatchState, CheckKind
from workshop.kettle.services.batch_state import (
    left_g,
    lock,
    put_out_g,
    refuse_all_but_owner,
    taken_g,
)
from workshop.kettle.services.in_process_checks import add_check
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Status


@transaction.atomic
def release_batch(
    batch: Batch,
    *,
    by: User,
    at: datetime,
    confirmed: Confirmed | None,
    note: str = "",
    is_despite: bool = False,
) -> list[Lot]:
    """Release every bulk lot of a poured batch that waits for it, signed with a password.

    A lot that was on hold takes a note. One that was rejected stays so. With `is_despite` what
    rooms still ask of it is passed over, with a note.
    """
    try:
        return _decide(
            batch,
            Status.RELEASED,
            by=by,
            at=at,
            reason=note,
            confirmed=confirmed,
            is_despite=is_despite,
        )
    except ActionRefused as error:
        field = "note" if error.field == "reason" else error.field
        raise ActionRefused(error.message, field=field) from error


@transaction.atomic
def hold_batch(batch: Batch, *, by: User, at: datetime, reason: str) -> list[Lot]:
    """Put every bulk lot of a poured batch on hold."""
    return _decide(batch, Status.ON_HOLD, by=by, at=at, reason=reason)


@transaction.atomic
def reject_batch(batch: Batch, *, by: User, at: datetime, reason: str) -> list[Lot]:
    """Reject every bulk lot of a poured batch."""
    return _decide(batch, Status.REJECTED, by=by, at=at, reason=reason)


def _decide(
    batch: Batch,
    status: Status,
    *,
    by: User,
    at: datetime,
    reason: str,
    confirmed: Confirmed | None = None,
    is_despite: bool = False,
) -> list[Lot]:
    batch = lock(batch.pk)
    lots = list(batch.operation.lots.select_related("item").order_by("pk"))
    if not lots:
        raise ActionRefused(f"{batch} is not poured yet, so there is no bulk to decide about.")
    waiting = [lot for lot in lots if lot.status not in (status, Status.REJECTED)]
    if not waiting:
        raise ActionRefused(_nothing_left(batch, lots))
    return [
        ledger.set_lot_status(
            lot,
            status,
            by=by,
            at=at,
            reason=reason,
            confirmed=confirmed,
            is_despite=is_despite,
        )
        for lot in waiting
    ]


def _nothing_left(batch: Batch, lots: list[Lot]) -> str:
    words = {lot.get_status_display(): None for lot in lots}
    return f"The bulk of {batch} is {' or '.join(words)} already."


@transaction.atomic
def close_batch(batch: Batch, *, by: User, at: datetime) -> Batch:
    """Close a poured batch and seal its whole record: the tables that `sealed_tables.py` names."""
    refuse_all_but_owner(by, "close")
    batch = lock(batch.pk)
    if batch.state != BatchState.POURED:
        raise ActionRefused(f"{batch} is {batch.get_state_display()}; pour it before it is closed.")
    _refuse_more_out_than_in(batch)
    return _seal(batch, BatchState.CLOSED, by=by, at=at)


def _refuse_more_out_than_in(batch: Batch) -> None:
    taken, out = taken_g(batch), put_out_g(batch) + left_g(batch)
    if out > taken:
        raise ActionRefused(
            f"{with_unit(out, 'g')} came out or left but only {with_unit(taken, 'g')} went in. "
            "Correct weighings or the yield first."
        )


@transaction.atomic
def abandon_batch(batch: Batch, *, by: User, at: datetime, reason: str) -> Batch:
    """Stop a batch for good before it is poured; what went in is accounted as lost."""
    batch = lock(batch.pk)
    if not batch.is_being_weighed:
        raise ActionRefused(
            f"{batch} is {batch.get_state_display()}; it cannot be stopped any more."
        )
    if not reason.strip():
        raise ActionRefused("Say why the batch is stopped.", field="reason")
    note = f"Abandoned: {reason.strip()}"
    add_check(batch, CheckKind.NOTE, note=note, by=by, at=at, token=new_token())
    return _seal(batch, BatchState.ABANDONED, by=by, at=at)


def _seal(batch: Batch, state: BatchState, *, by: User, at: datetime) -> Batch:
    batch.state = state
    batch.save(update_fields=["state"])
    ledger.close_operation(batch.operation, by=by, at=at)
    batch.operation.refresh_from_db()
    return batch


@transaction.atomic
def amend_batch(batch: Batch, *, by: User, at: datetime, reason: str) -> Batch:
    """Open the sealed record of a batch again to put it right; closing seals it anew."""
    batch = lock(batch.pk)
    ledger.amend_operation(batch.operation, by=by, at=at, reason=reason[:300])
    poured = batch.operation.lots.exists()
    batch.state = BatchState.POURED if poured else BatchState.UNDER_WAY
    batch.save(update_fields=["state"])
    batch.operation.refresh_from_db()
    return batch
