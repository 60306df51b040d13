"""Count a lot, and throw some of it away."""

from datetime import datetime
from decimal import Decimal

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.ledger.models import Lot, LotCount, Operation, OperationKind, Side
from workshop.ledger.services.operations import close_operation, open_operation
from workshop.ledger.services.postings import LARGEST, on_hand, post, withdraw
from workshop.ledger.stock_queries import book_at


@transaction.atomic
def count_lot(
    lot: Lot,
    counted: Decimal,
    *,
    by: User,
    at: datetime,
    reason: str,
    token: str,
    counted_at: datetime | None = None,
) -> Operation:
    """Set the book to what was counted: the difference is a posting of a stock count.

    A lot that was counted as the book says gets a count without a posting: it was looked at. What
    was counted earlier (`counted_at`) is held against the book of that moment, and dated so: what
    was taken or came in since stays as it is.
    """
    if counted < 0 or counted >= LARGEST:
        raise ActionRefused("A counted quantity is not below zero.", field="counted")
    check_idempotency(token, "count", lot=lot, counted=counted, reason=reason)
    moment = counted_at or at
    operation = open_operation(OperationKind.COUNT, by=by, at=moment, token=token)
    if operation.is_closed:
        return operation
    locked = Lot.objects.select_for_update(of=("self",)).select_related("item").get(pk=lot.pk)
    book = book_at(locked, counted_at) if counted_at else on_hand(locked)
    difference = counted - book
    if difference:
        side = Side.OUT if difference > 0 else Side.IN
        if not reason.strip():
            raise ActionRefused(
                "The book says otherwise: say why, as far as you know.", field="reason"
            )
        post(operation, locked, side, abs(difference), by=by, at=moment, reason=reason.strip())
    LotCount.objects.create(
        operation=operation, lot=locked, counted=counted, book=book, counted_at=moment
    )
    details = {"lot": locked.code, "counted_thousandths": int(counted.scaleb(3))}
    return close_operation(operation, by=by, at=at, details=details)


@transaction.atomic
def discard(
    lot: Lot, quantity: Decimal, *, by: User, at: datetime, reason: str, token: str
) -> Operation:
    """Write off `quantity` of a lot, never more than it holds, and say why."""
    if not reason.strip():
        raise ActionRefused("Say why it is written off.", field="reason")
    check_idempotency(token, "discard", lot=lot, quantity=quantity, reason=reason)
    operation = open_operation(OperationKind.DISCARD, by=by, at=at, token=token)
    if operation.is_closed:
        return operation
    withdraw(operation, lot, quantity, by=by, at=at, reason=reason.strip())
    return close_operation(operation, by=by, at=at)
