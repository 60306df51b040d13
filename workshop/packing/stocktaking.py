"""Counting and throwing away units of a finished lot, with an eye on those kept back as samples."""

from datetime import date, datetime
from decimal import Decimal

from django.db import transaction
from django.db.models import Prefetch, Q, QuerySet, Sum

from workshop.core.errors import Refused
from workshop.core.models import User
from workshop.core.shown import number
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Operation
from workshop.packing.models import Retained
from workshop.packing.retaining import locked_lot, retained_of, sellable


@transaction.atomic
def count_units(
    lot: Lot, counted: Decimal, *, by: User, at: datetime, reason: str, token: str
) -> Operation:
    """Set the book to what was counted, samples and all.

    Raises Refused for fewer units than are kept back: which of the samples are gone, and why, is
    said first, by `retaining.give_up`.
    """
    lot = locked_lot(lot)
    kept = retained_of(lot)
    if counted < kept and not _is_done(token):
        raise Refused(
            f"{number(kept)} of lot {lot} are kept back as samples, and {number(counted)} are "
            "fewer. Say first what became of the samples that are gone, by “Keep them back no "
            "longer”.",
            field="counted",
        )
    return ledger.count_lot(lot, counted, by=by, at=at, reason=reason, token=token)


@transaction.atomic
def discard_units(
    lot: Lot, quantity: Decimal, *, by: User, at: datetime, reason: str, token: str
) -> Operation:
    """Throw away units that are not kept back as samples."""
    lot = locked_lot(lot)
    kept, free = retained_of(lot), sellable(lot)
    if kept and quantity > free and not _is_done(token):
        raise Refused(
            f"Of lot {lot} {number(free)} may be thrown away; {number(kept)} more are kept back as "
            "samples. Say first what becomes of those, by “Keep them back no longer”.",
            field="quantity",
        )
    return ledger.discard(lot, quantity, by=by, at=at, reason=reason, token=token)


def _is_done(token: str) -> bool:
    return Operation.objects.filter(token=token).exists()


def places_of(lot: Lot) -> str:
    """Where samples of a lot were put, the last place first."""
    rows = lot.retained_rows.filter(units__gt=0).order_by("-pk").values_list("place", flat=True)
    return ", ".join(dict.fromkeys(rows))


def kept_back(*, on: date, is_past: bool = False) -> QuerySet[Lot]:
    """Lots of which samples are kept, annotated with `kept`, the soonest to expire first.

    With `is_past` only those whose date is over, so that nobody needs the samples to vouch for
    units within it.
    """
    lots = Lot.objects.annotate(kept=Sum("retained_rows__units")).filter(Q(kept__gt=0))
    if is_past:
        lots = lots.filter(best_before__lt=on)
    rows = Retained.objects.filter(units__gt=0).order_by("-pk")
    return (
        lots.select_related("item", "origin")
        .prefetch_related(Prefetch("retained_rows", rows, to_attr="put_away"))
        .order_by("best_before", "pk")
    )
