"""Units retained as samples: they stay in the house and are not for sale."""

from datetime import datetime
from decimal import Decimal

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.formatting import number
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, Lot
from workshop.packing.models import Retained
from workshop.packing.stock.retained import retained_of, sellable


@transaction.atomic
def retain(
    lot: Lot, units: Decimal, *, place: str, by: User, at: datetime, token: str, reason: str = ""
) -> Retained:
    """Retain units as samples, at a place where they are found again.

    The same token again answers with the row already written. Raises ActionRefused for a lot that
    is no finished product, and for more units than are left for sale.
    """
    check_idempotency(token, "samples kept", lot=lot, units=units, place=place, reason=reason)
    lot = locked_lot(lot)
    known = Retained.objects.filter(token=token).first()
    if known:
        return known
    if lot.item.kind != ItemKind.PRODUCT:
        raise ActionRefused(f"Lot {lot} is {lot.item}, not a finished product.")
    _validate_units(units)
    if not place.strip():
        raise ActionRefused("Say where the samples are kept.", field="place")
    free = sellable(lot)
    if units > free:
        raise ActionRefused(f"Of lot {lot} only {number(free)} could be retained.", field="units")
    return Retained.objects.create(
        lot=lot, units=units, place=place.strip(), reason=reason.strip(), at=at, by=by, token=token
    )


@transaction.atomic
def give_up(
    lot: Lot, units: Decimal, *, reason: str, discarded: bool, by: User, at: datetime, token: str
) -> Retained:
    """End keeping units back: written off or used up for a test, or for sale again.

    What is written off leaves the lot by a discard. Raises ActionRefused without a reason, and for
    more units than are retained.
    """
    check_idempotency(
        token, "samples given up", lot=lot, units=units, reason=reason, discarded=discarded
    )
    lot = locked_lot(lot)
    known = Retained.objects.filter(token=token).first()
    if known:
        return known
    _validate_units(units)
    if not reason.strip():
        raise ActionRefused("Say what becomes of them.", field="reason")
    kept = retained_of(lot)
    if units > kept:
        raise ActionRefused(f"Only {number(kept)} of lot {lot} are retained.", field="units")
    if discarded:
        why = f"Retained sample: {reason.strip()}"[:300]
        ledger.discard(lot, units, by=by, at=at, reason=why, token=f"{token[:60]}-x")
    return Retained.objects.create(
        lot=lot, units=-units, reason=reason.strip(), at=at, by=by, token=token
    )


def locked_lot(lot: Lot) -> Lot:
    return Lot.objects.select_for_update(of=("self",)).select_related("item").get(pk=lot.pk)


def _validate_units(units: Decimal) -> None:
    if units <= 0 or units != int(units):
        raise ActionRefused("Give a whole number of units above none.", field="units")
