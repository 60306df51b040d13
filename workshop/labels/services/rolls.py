"""Printed rolls: which approved label a lot of packaging carries."""

from datetime import datetime

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.labels.models import LabelVersion, Roll, VersionState
from workshop.ledger.models import ItemKind, Lot, Unit


@transaction.atomic
def note_roll(lot: Lot, version: LabelVersion, *, by: User, at: datetime, token: str) -> Roll:
    """Say that a lot carries this label; the same token again answers with the first row.

    Raises ActionRefused for what is no packaging counted in pieces, and for a draft.
    """
    check_idempotency(token, "printed roll", lot=lot, version=version)
    known = Roll.objects.filter(token=token).first()
    if known:
        return known
    if by.role != Role.OWNER:
        raise ActionRefused("Only an owner says which label a roll carries.")
    if lot.item.kind != ItemKind.PACKAGING or lot.item.unit != Unit.EACH:
        raise ActionRefused(
            f"Lot {lot} is {lot.item}. Printed labels come in as packaging, counted in pieces.",
            field="lot",
        )
    if version.state == VersionState.DRAFT:
        raise ActionRefused("A print shop prints what is approved; approve the label first.")
    return Roll.objects.create(lot=lot, version=version, by=by, at=at, token=token)
