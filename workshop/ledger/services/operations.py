"""Open an operation, hold it, close and seal it, amend it."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.core.saving.form_sent_twice import other_content
from workshop.core.saving.locks import advisory_lock
from workshop.core.saving.new_tokens import new_token
from workshop.ledger.models import REFERENCE_LETTER, Amendment, Counter, Operation, OperationKind
from workshop.ledger.services import seal_chain


@transaction.atomic
def open_operation(
    kind: OperationKind,
    *,
    by: User,
    at: datetime,
    token: str | None = None,
    reference: str | None = None,
) -> Operation:
    """Begin an operation; the same token again answers with the one already begun.

    The reference, unless given, is the kind's letter, year and month, and a running number.
    """
    token = token or new_token()
    advisory_lock(token)
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


def _same_operation(known: Operation, kind: OperationKind) -> Operation:
    if known.kind != kind:
        raise other_content()
    return known


@transaction.atomic
def next_reference(letter: str, day: date) -> str:
    """The next running reference under a letter and a month: K-2611-02."""
    month = f"{letter}-{day:%y%m}"
    counter, _ = Counter.objects.select_for_update().get_or_create(name=month)
    counter.last += 1
    counter.save(update_fields=["last"])
    return f"{month}-{counter.last:02}"


def lock_operation(operation: Operation) -> Operation:
    """Read the operation anew and keep it from being closed till this transaction ends."""
    locked = Operation.objects.select_for_update().get(pk=operation.pk)
    refuse_closed(locked)
    return locked


def refuse_closed(operation: Operation) -> None:
    if operation.is_closed:
        raise ActionRefused(f"{operation.reference} is closed; only the owner can amend it.")


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
        raise ActionRefused(f"{locked.reference} is closed already.")
    locked.closed_at = at
    locked.closed_by = by
    locked.save(update_fields=["closed_at", "closed_by"])
    seal_chain.seal(locked, by=by, at=at, details=details or {})
    return locked


@transaction.atomic
def amend_operation(operation: Operation, *, by: User, at: datetime, reason: str) -> Operation:
    """Open a sealed operation again for an owner; closing it seals it anew."""
    if by.role != Role.OWNER:
        raise ActionRefused("Only an owner may amend a closed record.")
    if not reason.strip():
        raise ActionRefused("Say why the closed record is opened again.", field="reason")
    locked = Operation.objects.select_for_update().get(pk=operation.pk)
    if not locked.is_closed:
        raise ActionRefused(f"{locked.reference} is still open.")
    Amendment.objects.create(operation=locked, at=at, by=by, reason=reason.strip())
    locked.closed_at = None
    locked.closed_by = None
    locked.save(update_fields=["closed_at", "closed_by"])
    return locked
