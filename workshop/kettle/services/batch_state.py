"""What the acts at the kettle share."""

from datetime import date, datetime
from decimal import Decimal

from django.db.models import Sum

from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.kettle.models import Batch, BatchState
from workshop.kettle.soap_readiness import lots_that_bind
from workshop.ledger import services as ledger
from workshop.ledger.models import Side
from workshop.rules.dates.best_before import best_before
from workshop.rules.errors import RuleError


def lock(batch: int) -> Batch:
    """The batch as it stands now; nobody pours or closes it meanwhile."""
    rows = Batch.objects.select_for_update(of=("self",)).select_related("operation", "version")
    return rows.get(pk=batch)


def lock_batch(batch: Batch) -> Batch:
    """The same, its operation held too, where the rest of both was read a moment ago.

    What may have changed since is read again: the batch's state, and whether it was closed.
    """
    rows = Batch.objects.select_for_update().order_by()
    batch.state, batch.operation.closed_at = rows.values_list("state", "operation__closed_at").get(
        pk=batch.pk
    )
    return batch


def refuse_all_but_owner(by: User, act: str) -> None:
    if by.role != Role.OWNER:
        raise ActionRefused(f"Only an owner may {act} a batch.")


def taken_g(batch: Batch) -> Decimal:
    """All that stands as weighed into the batch."""
    return -_sum(batch, Side.IN)


def put_out_g(batch: Batch) -> Decimal:
    """All that stands as poured out of the batch."""
    return _sum(batch, Side.OUT)


def left_g(batch: Batch) -> Decimal:
    """All that is said to have left it otherwise."""
    return batch.operation.sheds.grams()


def _sum(batch: Batch, side: Side) -> Decimal:
    rows = batch.operation.postings.filter(side=side)
    total: Decimal = rows.aggregate(g=Sum("quantity", default=Decimal(0)))["g"]
    return total


def shelf_date(batch: Batch, made_on: date) -> date | None:
    """The earliest of the shelf life and the dates of all lots that bind it."""
    dates = [lot.best_before for lot in lots_that_bind(batch)]
    try:
        earliest = best_before(made_on, batch.version.shelf_life_months, dates)
    except RuleError as error:
        raise ActionRefused(f"The shelf life of {batch.version} cannot be used: {error}") from error
    if earliest and earliest < made_on:
        raise ActionRefused(
            "A lot that went in was past its date on the day of the pour. "
            "Take that weighing back, or stop the batch."
        )
    return earliest


def follow(batch: Batch, what: str, *, by: User, at: datetime) -> None:
    """What follows from a change of what is in the kettle: its state, or the bulk's date.

    `what` was changed; bulk that was released with the record as it was is no longer released.
    """
    if batch.state == BatchState.PLANNED:
        Batch.objects.filter(pk=batch.pk).update(state=BatchState.UNDER_WAY)
    if batch.state == BatchState.POURED:
        for lot in batch.operation.lots.all():
            due = shelf_date(batch, lot.made_on)
            ledger.change_best_before(lot, due, by=by, at=at, reason=f"{batch}: {what}"[:300])
    undo_signature(batch, what, by=by, at=at)


def undo_signature(batch: Batch, what: str, *, by: User, at: datetime) -> None:
    """Signed and then changed is not signed: the bulk waits for its release again.

    The kettle goes on whatever becomes of the lots.
    """
    if batch.state == BatchState.POURED:
        ledger.undo_release(list(batch.operation.lots.all()), f"{batch}: {what}", by=by, at=at)
