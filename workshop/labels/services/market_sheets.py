"""Market sheets, the firms they name, and the owner's words and names: kept and approved."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any, TypeVar

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.core.saving.with_history import save_with_history
from workshop.labels.content.market_sheet_state import problems_of
from workshop.labels.models import MarketSheet, OwnName, Party, Phrase

Row = TypeVar("Row", Party, Phrase, OwnName)


@transaction.atomic
def save_sheet(
    sheet: MarketSheet, values: Mapping[str, Any], *, by: User, at: datetime
) -> MarketSheet:
    """Keep a sheet; what was approved before is to be approved anew."""
    _refuse_unless_owner(by)
    for name, value in values.items():
        setattr(sheet, name, value)
    sheet.approved_by = sheet.approved_at = None
    return save_with_history(sheet, by=by, at=at)


@transaction.atomic
def approve_sheet(sheet: MarketSheet, *, by: User, at: datetime) -> MarketSheet:
    """Approve a sheet as it is. Raises ActionRefused with everything that is missing."""
    _refuse_unless_owner(by)
    sheet = MarketSheet.objects.select_for_update(of=("self",)).get(pk=sheet.pk)
    problems = problems_of(sheet)
    if problems:
        raise ActionRefused(" ".join(one.told for one in problems))
    sheet.approved_by, sheet.approved_at = by, at
    return save_with_history(sheet, by=by, at=at)


@transaction.atomic
def save_row(row: Row, values: Mapping[str, Any], *, by: User, at: datetime) -> Row:
    """Keep a firm, a phrase or a name of the owner's."""
    _refuse_unless_owner(by)
    for name, value in values.items():
        setattr(row, name, value)
    return save_with_history(row, by=by, at=at)


def _refuse_unless_owner(by: User) -> None:
    if by.role != Role.OWNER:
        raise ActionRefused("Only an owner keeps and approves market sheets.")
