"""Take back what one file had entered, as far as nothing has used it since."""

from datetime import datetime
from typing import Any

from django.apps import apps
from django.db import transaction
from django.db.models import Model, ProtectedError

from workshop.core.database.sealing import history_of, is_kept_in_history
from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.dispatch.models import Dispatch
from workshop.dispatch.services.corrections import undo
from workshop.goods_in.services import opening_stock
from workshop.ledger.models import Operation, OperationKind
from workshop.transfer.models import SheetImport, SheetTakenBack

ENTERED = "+"
ROUNDS = 6  # what others point at goes after them: as deep as master data is


@transaction.atomic
def take_back(taken_in: SheetImport, *, by: User, at: datetime, reason: str) -> SheetTakenBack:
    """Stock, what was sent of it, and every new entry go; what was changed stays as it is.

    Raises ActionRefused, and writes nothing, unless an owner does it with a reason, and once
    anything has used what the file had entered.
    """
    if by.role != Role.OWNER:
        raise ActionRefused("Only an owner takes a file back.")
    if not reason.strip():
        raise ActionRefused("Say why it is taken back.", field="reason")
    locked = SheetImport.objects.select_for_update(of=("self",)).get(pk=taken_in.pk)
    if SheetTakenBack.objects.filter(taken_in=locked).exists():
        raise ActionRefused("It was taken back before.")
    act: dict[str, Any] = {"by": by, "at": at, "reason": reason.strip()}
    mine = {"operation__opened_at": locked.at, "operation__opened_by": locked.by}
    for sent in Dispatch.objects.effective().filter(**mine).order_by("-pk"):
        undo(sent, **act)
    openings = Operation.objects.filter(
        kind=OperationKind.OPENING, opened_at=locked.at, opened_by=locked.by
    )
    for operation in openings.order_by("-pk"):
        opening_stock.take_back(operation, **act)
    if not openings.exists():
        _remove_entries(locked, by=by, at=at)
    return SheetTakenBack.objects.create(taken_in=locked, **act)


def _remove_entries(taken_in: SheetImport, *, by: User, at: datetime) -> None:
    """Rows that the file entered; a lot that was taken back keeps its item all the same."""
    waiting = list(_entries(taken_in))
    for _ in range(ROUNDS):
        waiting = [row for row in waiting if not _removed(row, by=by, at=at)]
    if waiting:
        raise ActionRefused(
            f"{waiting[0]} has been used since, so the file cannot be taken back whole."
        )


def _entries(taken_in: SheetImport) -> list[Any]:
    """Newest first, those that point at others before them."""
    found: list[Any] = []
    for model in filter(is_kept_in_history, apps.get_models()):
        lines = history_of(model)._base_manager.filter(
            history_type=ENTERED, history_date=taken_in.at, history_user=taken_in.by
        )
        keys = list(lines.values_list(model._meta.pk.attname, flat=True))
        for start in range(0, len(keys), 500):
            found += model._base_manager.filter(pk__in=keys[start : start + 500]).order_by("-pk")
    return found


def _removed(row: Model, *, by: User, at: datetime) -> bool:
    row._history_user = by  # type: ignore[attr-defined]  # read by simple_history
    row._history_date = at  # type: ignore[attr-defined]  # likewise
    try:
        with transaction.atomic():
            row.delete()
    except ProtectedError:
        return False
    return True
