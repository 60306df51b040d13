"""Post grams and pieces, and take a posting back; one made twice is known by its own token."""

from datetime import datetime
from decimal import Decimal

from django.db import IntegrityError, connection, transaction
from django.db.models import Sum

from workshop.core import formatting
from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import other_content
from workshop.core.saving.new_tokens import new_token
from workshop.ledger.lot_tree import descendants
from workshop.ledger.models import TRANSFORMING, Lot, Operation, Posting, Side
from workshop.ledger.services.operations import lock_operation, refuse_closed

LARGEST = Decimal("1000000000")


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

    Raises ActionRefused, and writes nothing, if the operation is closed, the quantity is not above
    zero, or the lot would be made from itself.
    """
    known = Posting.objects.filter(token=token).first() if token else None
    if known:
        return _same_posting(known, operation, lot, side, quantity)
    operation = lock_operation(operation)
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
    refuse_closed(operation)
    _validate_quantity(lot, quantity)
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
        raise other_content()
    return known


def _validate_quantity(lot: Lot, quantity: Decimal) -> None:
    if not quantity.is_finite() or quantity <= 0:
        raise ActionRefused("The quantity must be above zero.", field="quantity")
    if quantity >= LARGEST:
        raise ActionRefused("The quantity is implausibly large.", field="quantity")
    if quantity != round(quantity, 3):
        raise ActionRefused("Give at most three decimal places.", field="quantity")
    if lot.item.unit == "each" and quantity != int(quantity):
        raise ActionRefused(f"{lot.item} is counted in whole pieces.", field="quantity")


def _refuse_wrong_way(operation: Operation, lot: Lot, side: Side) -> None:
    if operation.kind not in TRANSFORMING:
        return
    if side == Side.OUT and lot.origin_id != operation.pk:
        raise ActionRefused(f"Lot {lot} was not made in {operation.reference}.")
    if side == Side.IN and lot.origin.kind in TRANSFORMING:
        # What was bought, counted in or returned was made from nothing: no need to look.
        made_here = list(operation.lots.values_list("pk", flat=True))
        if lot.pk in made_here or (made_here and lot.pk in descendants(made_here)):
            raise ActionRefused(f"Lot {lot} was made from this batch, so it cannot go into it.")


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
            raise ActionRefused(
                f"Lot {lot} holds {formatting.with_unit(held, lot.item.unit)},"
                f" not {formatting.with_unit(quantity, lot.item.unit)}.",
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

    Raises ActionRefused if it was taken back already, is itself a reversal, or its operation is
    closed.
    """
    token = token or new_token()
    known = Posting.objects.filter(token=token).first()
    if known:
        if known.corrects_id != posting.pk:
            raise other_content()
        return known
    if not reason.strip():
        raise ActionRefused("Say why this is taken back.", field="reason")
    operation = lock_operation(posting.operation)
    if posting.corrects_id is not None:
        raise ActionRefused("This entry takes another one back; record a fresh one instead.")
    if Posting.objects.filter(corrects=posting).exists():
        raise ActionRefused("This entry was already taken back.")
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
