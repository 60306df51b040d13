"""Give a lot its code, and move it to another status."""

import secrets
from collections.abc import Callable
from datetime import date, datetime

from django.db import transaction
from django.utils import timezone

from workshop.core import shown
from workshop.core.errors import Refused
from workshop.core.locks import take_turns
from workshop.core.models import User
from workshop.ledger.models import (
    DateChange,
    Item,
    Lot,
    Operation,
    Status,
    StatusChange,
)
from workshop.rules.codes import make_lot_code
from workshop.rules.dates import is_past


@transaction.atomic
def create_lot(
    item: Item,
    *,
    origin: Operation,
    made_on: date,
    best_before: date | None,
    by: User,
    at: datetime,
    status: Status = Status.QUARANTINE,
    draw: Callable[[int], int] = secrets.randbelow,
) -> Lot:
    """Give a new lot of `item` its code. It holds nothing until something is posted.

    `draw(n)` picks 0 … n-1; a fixed one makes a repeatable demo.
    """
    take_turns("lot code")
    code = make_lot_code(draw)
    while Lot.objects.filter(code=code).exists():
        code = make_lot_code(draw)
    lot = Lot.objects.create(
        item=item,
        code=code,
        status=status,
        made_on=made_on,
        best_before=best_before,
        origin=origin,
    )
    StatusChange.objects.create(lot=lot, was="", now=status, at=at, by=by)
    return lot


@transaction.atomic
def set_lot_status(lot: Lot, status: Status, *, by: User, at: datetime, reason: str = "") -> Lot:
    """Move a lot to another status; say who, when and, unless it is released, why."""
    locked = Lot.objects.select_for_update(of=("self",)).select_related("item").get(pk=lot.pk)
    if locked.status == status:
        raise Refused(f"Lot {lot} is already {locked.get_status_display()}.")
    if status != Status.RELEASED and not reason.strip():
        raise Refused("Say why.", field="reason")
    date = locked.best_before
    if date and status == Status.RELEASED and is_past(date, timezone.localdate(at)):
        raise Refused(f"Lot {lot} is past its date, {shown.day(date)}.")
    StatusChange.objects.create(
        lot=locked, was=locked.status, now=status, at=at, by=by, reason=reason.strip()
    )
    locked.status = status
    locked.save(update_fields=["status"])
    return locked


@transaction.atomic
def change_best_before(
    lot: Lot, best_before: date | None, *, by: User, at: datetime, reason: str
) -> Lot:
    """Give a lot another best-before date; say who, when and why. The same date changes nothing."""
    locked = Lot.objects.select_for_update(of=("self",)).select_related("item").get(pk=lot.pk)
    if locked.best_before == best_before:
        return locked
    if not reason.strip():
        raise Refused("Say why the best-before date changes.", field="reason")
    if best_before is not None and best_before < locked.made_on:
        raise Refused(
            f"Lot {lot} was made on {shown.day(locked.made_on)}, after this date.",
            field="best_before",
        )
    DateChange.objects.create(
        lot=locked,
        was=locked.best_before,
        now=best_before,
        at=at,
        by=by,
        reason=reason.strip()[:300],
    )
    locked.best_before = best_before
    locked.save(update_fields=["best_before"])
    return locked
