"""What can happen in packing: a product is described, units are packed, a finished lot judged."""

import secrets
from collections.abc import Callable, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Unpack

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.formatting import number
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.core.saving.new_tokens import new_token
from workshop.kettle.models import Scale
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, OperationKind, Side, Status
from workshop.packing.best_before import best_before_of
from workshop.packing.models import PackingRun, Product, Reading
from workshop.packing.queries import shelf_life_months
from workshop.packing.run_figures import (
    MOST_UNITS,
    refuse_bulk_that_is_not_there,
    validate_figures,
)
from workshop.packing.services.fill_weights import weigh
from workshop.packing.services.packing_input import Figures, packed_before, packing_of, post_all
from workshop.packing.services.reseal import seal_again
from workshop.packing.services.retained_samples import give_up, retain
from workshop.packing.services.run_lock import locked_run
from workshop.packing.stock.retained import retained_of
from workshop.packing.usable_lots import refuse_unusable_lots


@transaction.atomic
def plan_run(
    product: Product,
    *,
    by: User,
    at: datetime,
    token: str,
    note: str = "",
    units: int | None = None,
) -> PackingRun:
    """Begin a packing run; the same token again answers with the run already begun."""
    if units is not None and not 0 < units <= MOST_UNITS:
        raise ActionRefused(f"Pack from 1 to {number(Decimal(MOST_UNITS))} units.", field="units")
    check_idempotency(token, "packing run", product=product, note=note, units=units)
    operation = ledger.open_operation(OperationKind.PACKING, by=by, at=at, token=token)
    run = PackingRun.objects.filter(operation=operation).select_related("operation").first()
    if run is None:
        return PackingRun.objects.create(
            operation=operation, product=product, note=note, planned_units=units
        )
    return run


@transaction.atomic
def pack(
    product: Product,
    *,
    by: User,
    at: datetime,
    token: str,
    note: str = "",
    draw: Callable[[int], int] = secrets.randbelow,
    weights: Sequence[Decimal] = (),
    kind: str = Reading.NET,
    scale: Scale | None = None,
    **figures: Unpack[Figures],
) -> Lot:
    """Begin a run and finish it at once: packed first, written down afterwards.

    `weights` of packs, of one kind, were taken on paper. The same token again answers with the
    lot already packed. See `finish`.
    """
    run = plan_run(product, by=by, at=at, token=token, note=note)
    if weights:
        confirmed = figures.get("confirmed", False)
        weigh(run, kind, weights, scale=scale, confirmed=confirmed, by=by, at=at, token=token)
    return finish(run, by=by, at=at, draw=draw, **figures)


@transaction.atomic
def finish(
    run: PackingRun,
    *,
    by: User,
    at: datetime,
    note: str = "",
    draw: Callable[[int], int] = secrets.randbelow,
    **figures: Unpack[Figures],
) -> Lot:
    """Say what a run took and put out, and answer with the finished lot, in quarantine.

    `spoiled` containers were used up without becoming a unit; `others` are labels and other
    packaging; the grams of `bulk` include what was spilled or sampled. `retained` of the units
    are retained. Leftover bulk stays in its lot. `confirmed` says that an unusual weight was
    looked at. Bulk that the book is short of by more than a little is asked about: with
    `is_short` and why it is taken all the same, and stands below zero until it is counted.

    Finished again with the same figures, it answers with the same lot. Raises ActionRefused, and
    writes nothing, for lots that may not be used and figures that do not belong together.
    """
    run = locked_run(run)
    done = packing_of(figures)
    if run.operation.lots.exists():
        return packed_before(run.operation, done)
    if run.operation.is_closed:
        raise ActionRefused(f"{run} was stopped; begin another run.")
    validate_figures(run.product, done, at=at)
    refuse_unusable_lots(run.product, done)
    refuse_bulk_that_is_not_there(done)
    _add_note(run, note)
    run.shelf_life_months = shelf_life_months(run.product, done.taken)
    run.save(update_fields=["shelf_life_months"])
    lot = ledger.create_lot(
        run.product.item,
        origin=run.operation,
        made_on=done.made_on,
        best_before=best_before_of(run, done.made_on, done.taken),
        by=by,
        at=at,
        draw=draw,
    )
    post_all(run.operation, done, lot, by=by, at=at)
    if done.retained:
        retain(
            lot,
            Decimal(done.retained),
            place=done.retained_at,
            by=by,
            at=at,
            token=new_token(),
        )
    details = {"unusual_weight_confirmed": figures.get("confirmed", False)}
    ledger.close_operation(run.operation, by=by, at=at, details=details)
    return lot


def _add_note(run: PackingRun, note: str) -> None:
    if note.strip():
        run.note = "\n".join(filter(None, [run.note, note.strip()]))
        run.save(update_fields=["note"])


@transaction.atomic
def stop(run: PackingRun, *, by: User, at: datetime, reason: str) -> PackingRun:
    """End a run that put nothing out; nothing was taken, and its weights stay on record."""
    run = locked_run(run)
    if not run.is_under_way:
        raise ActionRefused(f"{run} is not under way.")
    if not reason.strip():
        raise ActionRefused("Say why the run is stopped.", field="reason")
    _add_note(run, f"Stopped: {reason.strip()}")
    ledger.close_operation(run.operation, by=by, at=at, details={"stopped": reason.strip()})
    return run


@transaction.atomic
def void_run(run: PackingRun, *, by: User, at: datetime, reason: str) -> PackingRun:
    """Undo a whole run that was recorded wrongly: what it took is back in its lots.

    The finished lot stays on record, empty and rejected. Raises ActionRefused unless an owner does
    it, with a reason, while every unit is still here.
    """
    operation = ledger.amend_operation(run.operation, by=by, at=at, reason=reason)
    standing = list(operation.postings.effective().select_related("lot__item", "operation"))
    made = next((posting for posting in standing if posting.side == Side.OUT), None)
    if made is None:
        raise ActionRefused(f"{operation} was already taken back.")
    if ledger.on_hand(made.lot) != made.moved:
        raise ActionRefused(
            f"Units of lot {made.lot} have left or were counted, so the run stays as it is."
        )
    for posting in standing:
        ledger.reverse(posting, by=by, at=at, reason=reason)
    for row in operation.sheds.effective():
        ledger.take_shed_back(row, by=by, at=at, reason=reason)
    kept = retained_of(made.lot)
    if kept:
        give_up(made.lot, kept, reason=reason, discarded=False, by=by, at=at, token=new_token())
    if made.lot.status != Status.REJECTED:
        ledger.set_lot_status(made.lot, Status.REJECTED, by=by, at=at, reason=reason)
    seal_again(run, by=by, at=at, taken_back=reason.strip())
    return run


@transaction.atomic
def release(lot: Lot, *, by: User, at: datetime, reason: str = "") -> Lot:
    """Let a finished lot go to customers, unless something in it no longer may.

    Where the fill was not weighed by the plan, or failed, or the pour was out of control, it
    takes a reason.
    """
    return _judge(lot, Status.RELEASED, by=by, at=at, reason=reason)


@transaction.atomic
def hold(lot: Lot, *, by: User, at: datetime, reason: str) -> Lot:
    """Stop a finished lot until somebody has looked into it."""
    return _judge(lot, Status.ON_HOLD, by=by, at=at, reason=reason)


@transaction.atomic
def reject(lot: Lot, *, by: User, at: datetime, reason: str) -> Lot:
    """Take a finished lot out of use for good."""
    return _judge(lot, Status.REJECTED, by=by, at=at, reason=reason)


def _judge(lot: Lot, status: Status, *, by: User, at: datetime, reason: str) -> Lot:
    if lot.origin.kind != OperationKind.PACKING:
        raise ActionRefused(f"Lot {lot} was not packed here.")
    return ledger.set_lot_status(lot, status, by=by, at=at, reason=reason)
