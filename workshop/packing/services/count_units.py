"""Counting and throwing away units of a finished lot, with an eye on those retained as samples."""

from datetime import datetime
from decimal import Decimal

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.formatting import number
from workshop.core.models import User
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Operation
from workshop.packing.services.retained_samples import locked_lot
from workshop.packing.stock.retained import retained_of, sellable


@transaction.atomic
def count_units(
    lot: Lot,
    counted: Decimal,
    *,
    by: User,
    at: datetime,
    reason: str,
    token: str,
    counted_at: datetime | None = None,
) -> Operation:
    """Set the book to what was counted, samples and all; counted earlier, to that moment's book.

    Raises ActionRefused for fewer units than are kept back: which of the samples are gone, and why,
    is said first, by `retaining.give_up`.
    """
    lot = locked_lot(lot)
    kept = retained_of(lot)
    if counted < kept and not _is_done(token):
        raise ActionRefused(
            f"{number(kept)} of lot {lot} are retained as samples, and {number(counted)} are "
            "fewer. Say first what became of the samples that are gone, by “Release retained "
            "samples”.",
            field="counted",
        )
    return ledger.count_lot(
        lot, counted, by=by, at=at, reason=reason, token=token, counted_at=counted_at
    )


@transaction.atomic
def discard_units(
    lot: Lot, quantity: Decimal, *, by: User, at: datetime, reason: str, token: str
) -> Operation:
    """Write off units that are not retained as samples."""
    lot = locked_lot(lot)
    kept, free = retained_of(lot), sellable(lot)
    if kept and quantity > free and not _is_done(token):
        raise ActionRefused(
            f"Of lot {lot} {number(free)} may be written off; {number(kept)} more are retained as"
            " samples. Say first what becomes of those, by “Release retained samples”.",
            field="quantity",
        )
    return ledger.discard(lot, quantity, by=by, at=at, reason=reason, token=token)


def _is_done(token: str) -> bool:
    return Operation.objects.filter(token=token).exists()
