"""A closed run opened for more weights, and sealed again."""

from datetime import datetime
from typing import Any

from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.ledger import services as ledger
from workshop.packing.models import PackingRun


def open_again(run: PackingRun, *, by: User, at: datetime, reason: str) -> None:
    """Open a closed run for more weights, as only an owner may, and with a reason."""
    if by.role != Role.OWNER:
        raise ActionRefused(
            f"{run} is closed and sealed: an owner may still enter or correct weights, with a "
            "reason. Give an owner the figures, or hold the lot until one is here."
        )
    if not reason.strip():
        raise ActionRefused(
            f"{run} is closed and sealed: say why its record is opened again.", field="reason"
        )
    ledger.amend_operation(run.operation, by=by, at=at, reason=reason.strip()[:300])


def seal_again(run: PackingRun, *, by: User, at: datetime, **said: Any) -> None:
    """Close a run that was opened again; the new seal covers its weights as they are now."""
    ledger.close_operation(run.operation, by=by, at=at, details=said)
