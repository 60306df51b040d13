"""Say what left: out of an open batch, or from a lot where it stands."""

from datetime import datetime
from decimal import Decimal

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency, other_content
from workshop.core.saving.new_tokens import new_token
from workshop.ledger.models import Lot, Operation, OperationKind, Posting, Shed, ShedKind, Side
from workshop.ledger.services.operations import close_operation, lock_operation, open_operation
from workshop.ledger.services.postings import LARGEST, withdraw


@transaction.atomic
def shed(
    operation: Operation,
    kind: ShedKind,
    grams: Decimal,
    *,
    lot: Lot | None = None,
    is_estimated: bool = False,
    stays: str = "",
    by: User,
    at: datetime,
    token: str | None = None,
    reason: str = "",
) -> Shed:
    """Record that `grams` (not below zero) left an open operation; `lot` as in `Shed`.

    The same token again answers with what was recorded. Raises ActionRefused, and writes nothing,
    if the operation is closed or the grams cannot be kept.
    """
    token = token or new_token()
    known = Shed.objects.filter(token=token).first()
    if known:
        if (known.operation_id, known.kind, known.quantity) != (operation.pk, kind, grams):
            raise other_content()
        return known
    _validate(grams)
    return Shed.objects.create(
        operation=lock_operation(operation),
        kind=kind,
        lot=lot,
        quantity=grams,
        is_estimated=is_estimated,
        stays=stays,
        at=at,
        by=by,
        token=token,
        reason=reason.strip(),
    )


def _validate(grams: Decimal) -> None:
    if not grams.is_finite() or not 0 <= grams < LARGEST:
        raise ActionRefused("What left weighs nothing or more, never less.", field="grams")
    if grams != round(grams, 3):
        raise ActionRefused("Give at most three decimal places.", field="grams")


@transaction.atomic
def take_shed_back(
    row: Shed, *, by: User, at: datetime, reason: str, token: str | None = None
) -> Shed:
    """Take back what was said to have left, with a reason; the first word stays readable."""
    token = token or new_token()
    known = Shed.objects.filter(token=token).first()
    if known:
        if known.corrects_id != row.pk:
            raise other_content()
        return known
    if not reason.strip():
        raise ActionRefused("Say why this is taken back.", field="reason")
    operation = lock_operation(row.operation)
    if row.corrects_id is not None or Shed.objects.filter(corrects=row).exists():
        raise ActionRefused("This was already taken back.")
    return Shed.objects.create(
        operation=operation,
        kind=row.kind,
        lot=row.lot,
        quantity=-row.quantity,
        is_estimated=row.is_estimated,
        stays=row.stays,
        at=at,
        by=by,
        token=token,
        corrects=row,
        reason=reason.strip(),
    )


@transaction.atomic
def shed_in_store(
    lot: Lot,
    kind: ShedKind,
    grams: Decimal,
    *,
    is_estimated: bool = False,
    by: User,
    at: datetime,
    token: str,
    reason: str = "",
) -> Operation:
    """A lot loses mass where it stands: it dries, is trimmed, a sample is taken of it.

    Never more than the lot holds, and more than nothing.
    """
    check_idempotency(token, "loss in store", lot=lot, kind=str(kind), grams=grams, reason=reason)
    operation = open_operation(OperationKind.SHED, by=by, at=at, token=token)
    if operation.is_closed:
        return operation
    withdraw(operation, lot, grams, by=by, at=at, reason=reason.strip())
    shed(operation, kind, grams, lot=lot, is_estimated=is_estimated, by=by, at=at, reason=reason)
    return close_operation(operation, by=by, at=at)


def strain_out(
    operation: Operation,
    lots: list[Lot],
    marc_g: Decimal,
    *,
    stays: str,
    is_estimated: bool,
    by: User,
    at: datetime,
    token: str,
) -> list[Shed]:
    """Lots of one herb are strained out together: one marc, divided as they went in.

    Each gets the part of the marc that its grams are of all their grams; the parts add up to the
    marc to the milligram.
    """
    went_in = {lot.pk: Decimal(0) for lot in lots}
    for row in Posting.objects.filter(operation=operation, lot__in=lots, side=Side.IN):
        went_in[row.lot_id] -= row.quantity
    total, rows, given, before = sum(went_in.values(), Decimal(0)), [], Decimal(0), Decimal(0)
    for place, lot in enumerate(lots):
        before += went_in[lot.pk]
        upto = _part(marc_g, before, total) if total else marc_g
        rows.append(
            shed(
                operation,
                ShedKind.STRAINED,
                upto - given,
                lot=lot,
                is_estimated=is_estimated,
                stays=stays,
                by=by,
                at=at,
                token=f"{token[:60]}.{place}",
            )
        )
        given = upto
    return rows


def _part(marc_g: Decimal, before: Decimal, total: Decimal) -> Decimal:
    """What the lots so far have of the marc, in whole milligrams."""
    milligrams = int(marc_g.scaleb(3)) * int(before.scaleb(3)) // int(total.scaleb(3))
    return Decimal(milligrams).scaleb(-3)
