"""Pour a batch: its measured yield becomes bulk lots."""

import secrets
from collections.abc import Callable, Sequence
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from workshop.core.errors import ActionRefused
from workshop.core.formatting import with_unit
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.core.saving.new_tokens import derive_key
from workshop.kettle.models import Batch, BatchState, Check, CheckKind
from workshop.kettle.services.batch_state import (
    left_g,
    lock,
    put_out_g,
    shelf_date,
    taken_g,
    undo_signature,
)
from workshop.kettle.services.in_process_checks import add_check
from workshop.kettle.services.losses_from_batch import Marcs, strain_what_is_due
from workshop.kettle.weighing.weighed_superfat import soap_in
from workshop.ledger import services as ledger
from workshop.ledger.models import Item, ItemKind, Lot, Posting, Side, Status

NO_MARCS: Marcs = {}


@transaction.atomic
def pour(
    batch: Batch,
    outputs: Sequence[tuple[Item | None, Decimal]],
    *,
    marcs: Marcs = NO_MARCS,
    note: str = "",
    by: User,
    at: datetime,
    token: str,
    draw: Callable[[int], int] = secrets.randbelow,
) -> list[Lot]:
    """Put the measured yield out as bulk lots in quarantine; None means the formula's own bulk.

    A line outside its tolerance needs a note that says why it is poured as it is. Lye that the
    fats may not bind never stops a pour: it is written down, and the bulk goes on hold.
    `marcs` are the marcs of lines that are strained out and were not yet.
    """
    weighed = sorted(marcs.items())
    check_idempotency(token, "pour", batch=batch, outputs=outputs, note=note, marcs=weighed)
    tokens = [derive_key(token, place) for place in range(len(outputs))]
    batch = lock(batch.pk)
    known = list(batch.operation.lots.filter(postings__token__in=tokens).order_by("pk"))
    if known:
        return known
    if not batch.is_being_weighed:
        raise ActionRefused(f"{batch} is {batch.get_state_display()} already.")
    _validate_yield(batch, [grams for _, grams in outputs])
    poured = sum((grams for _, grams in outputs), Decimal(0))
    strain_what_is_due(batch, marcs, poured=poured, by=by, at=at, token=token)
    soap = soap_in(batch)
    danger = soap.refusal if soap else ""
    if danger:
        _note_lye(batch, danger, note, by=by, at=at, token=derive_key(token, -2))
    _note_lines_outside(batch, note, by=by, at=at, token=token)
    lots = [
        _put_out(batch, item, grams, by=by, at=at, token=part, draw=draw)
        for (item, grams), part in zip(outputs, tokens, strict=True)
    ]
    if danger:
        for lot in lots:
            ledger.set_lot_status(lot, Status.ON_HOLD, by=by, at=at, reason=danger[:300])
    Batch.objects.filter(pk=batch.pk).update(state=BatchState.POURED)
    return lots


def _validate_yield(
    batch: Batch, grams: Sequence[Decimal], *, poured: Decimal = Decimal(0)
) -> None:
    taken = taken_g(batch)
    if not taken:
        raise ActionRefused("Nothing has been weighed into this batch yet.")
    if not grams or min(grams) <= 0:
        raise ActionRefused("Weigh what was poured; the yield is above zero.", field="measured_g")
    put_out, left = sum(grams, poured), left_g(batch)
    if put_out + left > taken:
        besides = f", of which {with_unit(left, 'g')} left otherwise" if left else ""
        raise ActionRefused(
            f"{with_unit(put_out, 'g')} cannot come out of "
            f"{with_unit(taken, 'g')}{besides}. Weigh the yield again without its vessel, "
            "or look for a weighing that is missing.",
            field="measured_g",
        )


def _note_lines_outside(batch: Batch, note: str, *, by: User, at: datetime, token: str) -> None:
    lines = batch.lines.with_taken().select_related("item")
    outside = [line for line in lines if line.is_planned and not line.is_within]
    if outside and not note.strip():
        names = ", ".join(str(line.item) for line in outside)
        raise ActionRefused(
            f"Outside its tolerance: {names}. Weigh on, or say in the note why it is poured so.",
            field="note",
        )
    if note.strip():
        kind, part = CheckKind.NOTE, derive_key(token, -1)
        add_check(batch, kind, note=f"At the pour: {note.strip()}", by=by, at=at, token=part)


def _note_lye(batch: Batch, danger: str, note: str, *, by: User, at: datetime, token: str) -> None:
    """A check of its own, outside its limits."""
    Check.objects.create(
        batch=batch,
        kind=CheckKind.NOTE,
        is_within=False,
        note=f"{danger} {note.strip()}".strip()[:300],
        at=at,
        by=by,
        token=token,
    )


def _put_out(
    batch: Batch,
    item: Item | None,
    grams: Decimal,
    *,
    by: User,
    at: datetime,
    token: str,
    draw: Callable[[int], int],
) -> Lot:
    item = item or batch.version.formula.item
    if item.kind != ItemKind.BULK:
        raise ActionRefused(f"{item} is not a bulk; a kettle makes bulk only.", field="item")
    made_on = timezone.localdate(at)
    lot = ledger.create_lot(
        item,
        origin=batch.operation,
        made_on=made_on,
        best_before=shelf_date(batch, made_on),
        by=by,
        at=at,
        draw=draw,
    )
    ledger.post(batch.operation, lot, Side.OUT, grams, by=by, at=at, token=token)
    return lot


@transaction.atomic
def correct_yield(
    posting: Posting, measured_g: Decimal, *, reason: str, by: User, at: datetime, token: str
) -> Posting:
    """Mend a wrong yield: take it back with a reason and put the right one out of the same lot."""
    # Not the posting itself: sent again, the form finds the corrected one in its place.
    check_idempotency(token, "yield", lot=posting.lot, measured=measured_g, reason=reason)
    batch = lock(posting.operation.batch.pk)
    known = Posting.objects.filter(token=token).first()
    if known:
        return known
    if posting.side != Side.OUT:
        raise ActionRefused("Only a yield is corrected here; take a weighing back instead.")
    ledger.reverse(posting, by=by, at=at, reason=reason[:300], token=derive_key(token, 0))
    _validate_yield(batch, [measured_g], poured=put_out_g(batch))
    mended = ledger.post(
        batch.operation, posting.lot, Side.OUT, measured_g, by=by, at=at, token=token
    )
    was, now = with_unit(posting.moved, "g"), with_unit(measured_g, "g")
    what = f"yield of lot {posting.lot} corrected from {was} to {now}: {reason.strip()}"
    undo_signature(batch, what, by=by, at=at)
    return mended
