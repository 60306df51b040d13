"""Units are taken out of their packs again: what was in them is bulk, to be worked in anew."""

import secrets
from collections.abc import Callable
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from workshop.core.errors import ActionRefused
from workshop.core.formatting import day, number, with_unit
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, OperationKind, Side, Status
from workshop.packing.models import Product
from workshop.packing.services.fill_weights import MOST_USUAL
from workshop.packing.services.retained_samples import locked_lot
from workshop.packing.stock.retained import retained_of, sellable
from workshop.rules.dates.best_before import is_past


@transaction.atomic
def unpack(
    lot: Lot,
    units: Decimal,
    grams: Decimal,
    *,
    reason: str,
    by: User,
    at: datetime,
    token: str,
    draw: Callable[[int], int] = secrets.randbelow,
) -> Lot:
    """Turn units of a finished lot back into bulk, as much as was weighed, and answer with its lot.

    It waits for a release, keeps as long as the units did, and then goes into a kettle as any bulk
    does. Their packs and labels are gone. The same token again answers with the lot already made.
    Raises ActionRefused for a lot that was stopped or is past its date, for units that are not
    there, and for more grams than they can hold.
    """
    check_idempotency(token, "unpacking", lot=lot, units=units, grams=grams, reason=reason)
    lot = locked_lot(lot)
    operation = ledger.open_operation(OperationKind.UNPACKING, by=by, at=at, token=token)
    if operation.is_closed:
        return operation.lots.select_related("item").get()
    product = Product.objects.select_related("bulk").filter(item=lot.item_id).first()
    if product is None:
        raise ActionRefused(f"What {lot.item} is filled with is not in the book.")
    _refuse_stopped(lot, at)
    _refuse_odd(lot, product, units, grams)
    made = ledger.create_lot(
        product.bulk,
        origin=operation,
        made_on=timezone.localdate(at),
        best_before=lot.best_before,
        by=by,
        at=at,
        draw=draw,
    )
    ledger.withdraw(operation, lot, units, by=by, at=at, reason=reason.strip())
    out_of = f"Out of {number(units)} of lot {lot}: {reason.strip()}"[:300]
    ledger.post(operation, made, Side.OUT, grams, by=by, at=at, reason=out_of)
    ledger.close_operation(operation, by=by, at=at, details={"unpacked": reason.strip()})
    return made


def _refuse_stopped(lot: Lot, at: datetime) -> None:
    if lot.status not in (Status.RELEASED, Status.QUARANTINE):
        raise ActionRefused(
            f"Lot {lot} is {lot.get_status_display()}; an owner decides about it first."
        )
    if lot.best_before and is_past(lot.best_before, timezone.localdate(at)):
        raise ActionRefused(f"Lot {lot} was best before {day(lot.best_before)}. Write it off.")


def _refuse_odd(lot: Lot, product: Product, units: Decimal, grams: Decimal) -> None:
    kept, free = retained_of(lot), sellable(lot)
    if units > free:
        samples = f"; {number(kept)} more are retained as samples" if kept else ""
        raise ActionRefused(f"Of lot {lot} {number(free)} may be unpacked{samples}.", field="units")
    promised = units * product.fill_g
    if grams > promised * MOST_USUAL:
        raise ActionRefused(
            f"{number(units)} of {with_unit(product.fill_g, 'g')} hold {with_unit(promised, 'g')}: "
            f"{with_unit(grams, 'g')} cannot have come out of them.",
            field="grams",
        )
