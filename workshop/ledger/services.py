"""What can happen to the ledger: open, post, reverse, close, amend, and the status of a lot."""

import secrets
from collections.abc import Callable, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import IntegrityError, connection, transaction
from django.db.models import Sum
from django.utils import timezone

from workshop.core import shown
from workshop.core.errors import Refused
from workshop.core.locks import take_turns
from workshop.core.models import Role, User
from workshop.core.tokens import new_token
from workshop.ledger import seals
from workshop.ledger.models import (
    REFERENCE_LETTER,
    TRANSFORMING,
    Act,
    Amendment,
    Counter,
    Item,
    Lot,
    Operation,
    Posting,
    Side,
    Status,
    StatusChange,
)
from workshop.ledger.tree import descendants
from workshop.rules.codes import make_lot_code
from workshop.rules.dates import is_past

LARGEST = Decimal("1000000000")


@transaction.atomic
def open_operation(
    kind: Act, *, by: User, at: datetime, token: str | None = None, reference: str | None = None
) -> Operation:
    """Begin an operation; the same token again answers with the one already begun.

    The reference, unless given, is the kind's letter, year and month, and a running number.
    """
    token = token or new_token()
    take_turns(token)
    known = Operation.objects.filter(token=token).first()
    if known:
        return _same_operation(known, kind)
    return Operation.objects.create(
        kind=kind,
        reference=reference or next_reference(REFERENCE_LETTER[kind], timezone.localdate(at)),
        token=token,
        opened_at=at,
        opened_by=by,
    )


def _same_operation(known: Operation, kind: Act) -> Operation:
    if known.kind != kind:
        raise Refused("This form was already used for something else. Reload the page.")
    return known


@transaction.atomic
def next_reference(letter: str, day: date) -> str:
    """The next running reference under a letter and a month: K-2611-02."""
    month = f"{letter}-{day:%y%m}"
    counter, _ = Counter.objects.select_for_update().get_or_create(name=month)
    counter.last += 1
    counter.save(update_fields=["last"])
    return f"{month}-{counter.last:02}"


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
def post(
    operation: Operation,
    lot: Lot,
    side: Side,
    quantity: Decimal,
    *,
    by: User,
    at: datetime,
    token: str | None = None,
    reason: str = "",
) -> Posting:
    """Record that `operation` took in or put out `quantity` (above zero) of `lot`.

    The same token again answers with the posting already made. The book is never the reason
    to stop: a lot may go below zero, and is then shown for counting.

    Raises Refused, and writes nothing, if the operation is closed, the quantity is not above
    zero, or the lot would be made from itself.
    """
    known = Posting.objects.filter(token=token).first() if token else None
    if known:
        return _same_posting(known, operation, lot, side, quantity)
    operation = hold(operation)
    if token is None or connection.vendor == "sqlite":
        # Nobody else knows a token made here, and SQLite's immediate transaction lets nobody
        # in between the look-up and this: no savepoint to fall back to is needed.
        return post_held(operation, lot, side, quantity, by=by, at=at, token=token, reason=reason)
    try:
        with transaction.atomic():
            return post_held(
                operation, lot, side, quantity, by=by, at=at, token=token, reason=reason
            )
    except IntegrityError:
        # Another transaction brought the same token first: answer as it did.
        known = Posting.objects.filter(token=token).first()
        if known is None:
            raise
        return _same_posting(known, operation, lot, side, quantity)


def post_held(
    operation: Operation,
    lot: Lot,
    side: Side,
    quantity: Decimal,
    *,
    by: User,
    at: datetime,
    token: str | None = None,
    reason: str = "",
) -> Posting:
    """As `post`, where the caller's transaction holds the operation and has read it since.

    The token must be new: one that is not raises IntegrityError, and it is for the caller to
    look up what was posted under it.
    """
    _refuse_closed(operation)
    _refuse_odd_quantity(lot, quantity)
    _refuse_wrong_way(operation, lot, side)
    return Posting.objects.create(
        operation=operation,
        lot=lot,
        side=side,
        quantity=quantity if side == Side.OUT else -quantity,
        at=at,
        by=by,
        token=token or new_token(),
        reason=reason,
    )


def _same_posting(
    known: Posting, operation: Operation, lot: Lot, side: Side, quantity: Decimal
) -> Posting:
    same = (known.operation_id, known.lot_id, known.side, known.moved) == (
        operation.pk,
        lot.pk,
        side,
        quantity,
    )
    if not same:
        raise Refused("This entry was already recorded with other figures. Reload the page.")
    return known


def _refuse_odd_quantity(lot: Lot, quantity: Decimal) -> None:
    if not quantity.is_finite() or quantity <= 0:
        raise Refused("The quantity must be above zero.", field="quantity")
    if quantity >= LARGEST:
        raise Refused("The quantity is too large to be true.", field="quantity")
    if quantity != round(quantity, 3):
        raise Refused("Give at most three decimal places.", field="quantity")
    if lot.item.unit == "each" and quantity != int(quantity):
        raise Refused(f"{lot.item} is counted in whole pieces.", field="quantity")


def hold(operation: Operation) -> Operation:
    """Read the operation anew and keep it from being closed till this transaction ends."""
    locked = Operation.objects.select_for_update().get(pk=operation.pk)
    _refuse_closed(locked)
    return locked


def _refuse_closed(operation: Operation) -> None:
    if operation.is_closed:
        raise Refused(f"{operation.reference} is closed; only the owner can amend it.")


def _refuse_wrong_way(operation: Operation, lot: Lot, side: Side) -> None:
    if operation.kind not in TRANSFORMING:
        return
    if side == Side.OUT and lot.origin_id != operation.pk:
        raise Refused(f"Lot {lot} was not made in {operation.reference}.")
    if side == Side.IN and lot.origin.kind in TRANSFORMING:
        # What was bought, counted in or returned was made from nothing: no need to look.
        made_here = list(operation.lots.values_list("pk", flat=True))
        if lot.pk in made_here or (made_here and lot.pk in descendants(made_here)):
            raise Refused(f"Lot {lot} was made from this batch, so it cannot go into it.")


@transaction.atomic
def withdraw(
    operation: Operation,
    lot: Lot,
    quantity: Decimal,
    *,
    by: User,
    at: datetime,
    token: str | None = None,
    reason: str = "",
) -> Posting:
    """Post `quantity` of `lot` into `operation`, refusing more than the lot holds.

    For what leaves the shelf one by one (dispatch, discard); a kettle uses `post`.
    """
    known = Posting.objects.filter(token=token).first() if token else None
    if known is None:
        # Lock, then add up in a second statement: a sum inside the locking query would not
        # see what another transaction wrote while this one waited.
        lot = Lot.objects.select_for_update(of=("self",)).select_related("item").get(pk=lot.pk)
        held = on_hand(lot)
        if quantity > held:
            raise Refused(
                f"Lot {lot} holds {shown.with_unit(held, lot.item.unit)},"
                f" not {shown.with_unit(quantity, lot.item.unit)}.",
                field="quantity",
            )
    return post(operation, lot, Side.IN, quantity, by=by, at=at, token=token, reason=reason)


def on_hand(lot: Lot) -> Decimal:
    """What the postings of one lot add up to, in the item's unit."""
    total: Decimal = lot.postings.aggregate(total=Sum("quantity", default=Decimal(0)))["total"]
    return total


@transaction.atomic
def reverse(
    posting: Posting, *, by: User, at: datetime, reason: str, token: str | None = None
) -> Posting:
    """Take a posting back whole, with a reason; the first one stays readable.

    Raises Refused if it was taken back already, is itself a reversal, or its operation is
    closed.
    """
    token = token or new_token()
    known = Posting.objects.filter(token=token).first()
    if known and known.corrects_id == posting.pk:
        return known
    if not reason.strip():
        raise Refused("Say why this is taken back.", field="reason")
    operation = hold(posting.operation)
    if posting.corrects_id is not None:
        raise Refused("This entry takes another one back; record a fresh one instead.")
    if Posting.objects.filter(corrects=posting).exists():
        raise Refused("This entry was already taken back.")
    return Posting.objects.create(
        token=token,
        operation=operation,
        lot=posting.lot,
        side=posting.side,
        quantity=-posting.quantity,
        at=at,
        by=by,
        corrects=posting,
        reason=reason.strip(),
    )


@transaction.atomic
def close_operation(
    operation: Operation,
    *,
    by: User,
    at: datetime,
    details: Mapping[str, Any] | None = None,
) -> Operation:
    """Close an operation and seal it, with what its room adds to the record."""
    locked = Operation.objects.select_for_update().get(pk=operation.pk)
    if locked.is_closed:
        raise Refused(f"{locked.reference} is closed already.")
    locked.closed_at = at
    locked.closed_by = by
    locked.save(update_fields=["closed_at", "closed_by"])
    seals.seal(locked, by=by, at=at, details=details or {})
    return locked


@transaction.atomic
def amend_operation(operation: Operation, *, by: User, at: datetime, reason: str) -> Operation:
    """Open a sealed operation again for an owner; closing it seals it anew."""
    if by.role != Role.OWNER:
        raise Refused("Only an owner may amend a closed record.")
    if not reason.strip():
        raise Refused("Say why the closed record is opened again.", field="reason")
    locked = Operation.objects.select_for_update().get(pk=operation.pk)
    if not locked.is_closed:
        raise Refused(f"{locked.reference} is still open.")
    Amendment.objects.create(operation=locked, at=at, by=by, reason=reason.strip())
    locked.closed_at = None
    locked.closed_by = None
    locked.save(update_fields=["closed_at", "closed_by"])
    return locked


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
def count_lot(
    lot: Lot, counted: Decimal, *, by: User, at: datetime, reason: str, token: str
) -> Operation:
    """Set the book to what was counted: the difference is a posting of a stock count.

    A lot that was counted as the book says gets a count without a posting: it was looked at.
    """
    if counted < 0 or counted >= LARGEST:
        raise Refused("A counted quantity is not below zero.", field="counted")
    operation = open_operation(Act.COUNT, by=by, at=at, token=token)
    if operation.is_closed:
        return operation
    locked = Lot.objects.select_for_update(of=("self",)).select_related("item").get(pk=lot.pk)
    difference = counted - on_hand(locked)
    if difference:
        side = Side.OUT if difference > 0 else Side.IN
        if not reason.strip():
            raise Refused("The book says otherwise: say why, as far as you know.", field="reason")
        post(operation, locked, side, abs(difference), by=by, at=at, reason=reason.strip())
    details = {"lot": locked.code, "counted_thousandths": int(counted.scaleb(3))}
    return close_operation(operation, by=by, at=at, details=details)


@transaction.atomic
def discard(
    lot: Lot, quantity: Decimal, *, by: User, at: datetime, reason: str, token: str
) -> Operation:
    """Throw away `quantity` of a lot, never more than it holds, and say why."""
    if not reason.strip():
        raise Refused("Say why it is thrown away.", field="reason")
    operation = open_operation(Act.DISCARD, by=by, at=at, token=token)
    if operation.is_closed:
        return operation
    withdraw(operation, lot, quantity, by=by, at=at, reason=reason.strip())
    return close_operation(operation, by=by, at=at)
