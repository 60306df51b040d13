"""Split part of a melt off: it leaves the batch with its share of every reading.

The melt is well mixed, so each reading is parted in the proportion poured off: the part that
left becomes a batch of its own that put out one lot, the part that stayed is posted afresh. The
composition of both is exact, and so is the tree.
"""

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
from workshop.kettle.adjustments.kettle_contents import contents_of
from workshop.kettle.adjustments.options import rebalanced, split
from workshop.kettle.models import (
    Batch,
    BatchLine,
    BatchState,
    CheckKind,
    TargetChangeKind,
    Weighing,
)
from workshop.kettle.services.batch_state import lock, shelf_date
from workshop.kettle.services.change_targets import open_melt, targets_of, write
from workshop.kettle.services.in_process_checks import add_check
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Operation, OperationKind, Side, Status
from workshop.rules.quantities.scaling import MILLIGRAM_G, apportion

Draw = Callable[[int], int]


@transaction.atomic
def split_off(
    batch: Batch,
    poured_off_g: Decimal,
    *,
    figures_hash: str,
    reason: str,
    by: User,
    at: datetime,
    token: str,
    draw: Draw = secrets.randbelow,
) -> Lot:
    """Pour `poured_off_g` off into a lot on hold, and rebalance what stays in the kettle."""
    check_idempotency(token, "split", batch=batch, poured_off=poured_off_g, reason=reason)
    batch = lock(batch.pk)
    known = Operation.objects.filter(token=derive_key(token, -1)).first()
    if known:
        return known.lots.get()
    melt = open_melt(batch, figures_hash=figures_hash, reason=reason, at=at)
    way = split(melt, poured_off_g)
    if way.refusal:
        raise ActionRefused(way.refusal, field="poured_off_g")
    lot = _part_off(batch, poured_off_g, reason=reason, by=by, at=at, token=token, draw=draw)
    _rebalance_rest(batch, reason=reason, by=by, at=at, token=token)
    words = f"{with_unit(poured_off_g, 'g')} split off as lot {lot}: {reason.strip()}"
    for place, one in enumerate((batch, lot.origin.batch)):
        part = derive_key(token, -2 - place)
        add_check(one, CheckKind.NOTE, note=words, by=by, at=at, token=part)
    return lot


def _rebalance_rest(batch: Batch, *, reason: str, by: User, at: datetime, token: str) -> None:
    melt = contents_of(batch, on=timezone.localdate(at))
    way = rebalanced(melt)
    if way.refusal:
        raise ActionRefused(way.refusal, field="poured_off_g")
    targets = targets_of(melt, way)
    write(melt, TargetChangeKind.SPLIT, targets, reason=reason, by=by, at=at, token=token)


def _part_off(
    batch: Batch,
    poured_off_g: Decimal,
    *,
    reason: str,
    by: User,
    at: datetime,
    token: str,
    draw: Draw,
) -> Lot:
    readings = list(Weighing.objects.effective().with_names().filter(line__batch=batch))
    weights = [reading.posting.moved for reading in readings]
    parts = apportion(poured_off_g, weights, MILLIGRAM_G)
    side = _side_batch(batch, poured_off_g, by=by, at=at, token=derive_key(token, -1))
    lines = _side_lines(batch, side, readings, parts)
    for place, (reading, part) in enumerate(zip(readings, parts, strict=True)):
        tokens = [derive_key(token, 3 * place + number) for number in range(3)]
        _part_reading(reading, part, lines, by=by, at=at, tokens=tokens)
    return _side_lot(batch, side, poured_off_g, reason=reason, by=by, at=at, draw=draw)


def _side_batch(batch: Batch, grams: Decimal, *, by: User, at: datetime, token: str) -> Batch:
    return Batch.objects.create(
        operation=ledger.open_operation(OperationKind.BATCH, by=by, at=at, token=token),
        version=batch.version,
        kettle=batch.kettle,
        scale=batch.scale,
        state=BatchState.POURED,
        target_g=grams,
        expected_loss=Decimal(0),
        note=f"Split off from {batch}; its readings are parts of that batch's readings.",
    )


def _side_lines(
    batch: Batch, side: Batch, readings: Sequence[Weighing], parts: Sequence[Decimal]
) -> dict[int, BatchLine]:
    """The same lines, each meant as what is really in it; by the key of the batch's own line."""
    grams = dict.fromkeys(batch.lines.values_list("pk", flat=True), Decimal(0))
    for reading, part in zip(readings, parts, strict=True):
        grams[reading.line_id] += part
    return {
        line.pk: BatchLine.objects.create(
            batch=side,
            formula_line=line.formula_line,
            item=line.item,
            order=line.order,
            phase=line.phase,
            target_g=grams[line.pk],
            tolerance=line.tolerance,
            is_irreversible=line.is_irreversible,
            reason=line.reason,
        )
        for line in batch.lines.select_related("item", "formula_line")
    }


def _part_reading(
    reading: Weighing,
    part_g: Decimal,
    lines: dict[int, BatchLine],
    *,
    by: User,
    at: datetime,
    tokens: Sequence[str],
) -> None:
    """Take one reading back and post its two parts afresh, each with the time it was taken."""
    whole = reading.posting
    stays_g = whole.moved - part_g
    line = lines[reading.line_id]
    words = f"{with_unit(part_g, 'g')} of it was split off into {line.batch}"
    ledger.reverse(whole, by=by, at=at, reason=words, token=tokens[0])
    note = f"part of a reading of {with_unit(whole.moved, 'g')}, split"
    for where, grams, token in ((reading.line, stays_g, tokens[1]), (line, part_g, tokens[2])):
        if grams:
            posting = ledger.post(
                where.batch.operation, whole.lot, Side.IN, grams, by=by, at=whole.at, token=token
            )
            Weighing.objects.create(line=where, posting=posting, scale=reading.scale, note=note)


def _side_lot(
    batch: Batch,
    side: Batch,
    grams: Decimal,
    *,
    reason: str,
    by: User,
    at: datetime,
    draw: Draw,
) -> Lot:
    """The lot is on hold from the start: the melt is not finished and can only be reworked."""
    made_on = timezone.localdate(at)
    lot = ledger.create_lot(
        batch.version.formula.item,
        origin=side.operation,
        made_on=made_on,
        best_before=shelf_date(side, made_on),
        by=by,
        at=at,
        draw=draw,
    )
    ledger.post(side.operation, lot, Side.OUT, grams, by=by, at=at)
    words = f"Split off from {batch} before it was finished, for rework only: {reason.strip()}"
    ledger.set_lot_status(lot, Status.ON_HOLD, by=by, at=at, reason=words[:300])
    return lot
