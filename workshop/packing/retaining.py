"""Units kept back as samples: they stay in the house and are not for sale."""

from collections.abc import Collection
from datetime import date, datetime
from decimal import Decimal

from django.db import transaction
from django.db.models import ExpressionWrapper, F, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from workshop.core.errors import Refused
from workshop.core.fields import QuantityField
from workshop.core.idempotency import remember
from workshop.core.models import User
from workshop.core.shown import number
from workshop.ledger import services as ledger
from workshop.ledger.models import Kind, Lot
from workshop.packing.models import Retained


def retained_of(lot: Lot) -> Decimal:
    """How many units of a lot are kept back now."""
    return retained_in([lot.pk]).get(lot.pk, Decimal(0))


def retained_in(lot_pks: Collection[int]) -> dict[int, Decimal]:
    """The same of many lots, by their key; those of which nothing is kept back are left out."""
    rows = Retained.objects.filter(lot__in=lot_pks).order_by().values("lot")
    return dict(rows.annotate(total=Sum("units")).values_list("lot", "total"))


def sellable(lot: Lot) -> Decimal:
    """How many units of a finished lot may go to customers: on hand, less those kept back."""
    return max(Decimal(0), ledger.on_hand(lot) - retained_of(lot))


def for_sale(*, on: date) -> QuerySet[Lot]:
    """Finished lots that may go to customers, first expired first, annotated with `sellable`."""
    kept = Retained.objects.filter(lot=OuterRef("pk")).order_by().values("lot")
    held_back = Coalesce(
        Subquery(kept.annotate(total=Sum("units")).values("total"), output_field=QuantityField()),
        Decimal(0),
        output_field=QuantityField(),
    )
    left = ExpressionWrapper(F("on_hand") - held_back, output_field=QuantityField())
    lots = Lot.objects.available(on=on).filter(item__kind=Kind.PRODUCT)
    return lots.annotate(sellable=left).filter(Q(sellable__gt=0))


def sellable_of(lots: QuerySet[Lot]) -> dict[int, Decimal]:
    """How much of each lot of `for_sale` may go, by the lot's key."""
    return dict(lots.values_list("pk", F("sellable")))


@transaction.atomic
def retain(
    lot: Lot, units: Decimal, *, place: str, by: User, at: datetime, token: str, reason: str = ""
) -> Retained:
    """Keep units back as samples, at a place where they are found again.

    The same token again answers with the row already written. Raises Refused for a lot that is
    no finished product, and for more units than are left for sale.
    """
    remember(token, "samples kept", lot=lot, units=units, place=place, reason=reason)
    lot = locked_lot(lot)
    known = Retained.objects.filter(token=token).first()
    if known:
        return known
    if lot.item.kind != Kind.PRODUCT:
        raise Refused(f"Lot {lot} is {lot.item}, not a finished product.")
    _refuse_odd_units(units)
    if not place.strip():
        raise Refused("Say where the samples are kept.", field="place")
    free = sellable(lot)
    if units > free:
        raise Refused(f"Of lot {lot} only {number(free)} could be kept back.", field="units")
    return Retained.objects.create(
        lot=lot, units=units, place=place.strip(), reason=reason.strip(), at=at, by=by, token=token
    )


@transaction.atomic
def give_up(
    lot: Lot, units: Decimal, *, reason: str, discarded: bool, by: User, at: datetime, token: str
) -> Retained:
    """End keeping units back: thrown away or used up for a test, or for sale again.

    What is thrown away leaves the lot by a discard. Raises Refused without a reason, and for
    more units than are kept back.
    """
    remember(token, "samples given up", lot=lot, units=units, reason=reason, discarded=discarded)
    lot = locked_lot(lot)
    known = Retained.objects.filter(token=token).first()
    if known:
        return known
    _refuse_odd_units(units)
    if not reason.strip():
        raise Refused("Say what becomes of them.", field="reason")
    kept = retained_of(lot)
    if units > kept:
        raise Refused(f"Only {number(kept)} of lot {lot} are kept back.", field="units")
    if discarded:
        why = f"Retained sample: {reason.strip()}"[:300]
        ledger.discard(lot, units, by=by, at=at, reason=why, token=f"{token[:60]}-x")
    return Retained.objects.create(
        lot=lot, units=-units, reason=reason.strip(), at=at, by=by, token=token
    )


def locked_lot(lot: Lot) -> Lot:
    return Lot.objects.select_for_update(of=("self",)).select_related("item").get(pk=lot.pk)


def _refuse_odd_units(units: Decimal) -> None:
    if units <= 0 or units != int(units):
        raise Refused("Give a whole number of units above none.", field="units")
