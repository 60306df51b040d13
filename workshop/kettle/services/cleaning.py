"""Write down that a kettle was cleaned."""

from datetime import datetime

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.kettle.models import Cleaning, Kettle


@transaction.atomic
def record_cleaning(
    kettle: Kettle,
    *,
    cleaned_at: datetime,
    method: str,
    agent: str,
    rinse: str = "",
    checked_by: str = "",
    by: User,
    at: datetime,
    token: str,
) -> Cleaning:
    """Record a cleaning. Raises ActionRefused for one that is still to come."""
    content = {"cleaned_at": cleaned_at, "method": method, "agent": agent, "rinse": rinse}
    if check_idempotency(token, "kettle cleaned", kettle=kettle, checked_by=checked_by, **content):
        return Cleaning.objects.get(token=token)
    if cleaned_at > at:
        raise ActionRefused("That time is in the future.", field="cleaned_at")
    return Cleaning.objects.create(
        kettle=kettle,
        cleaned_at=cleaned_at,
        method=method.strip(),
        agent=agent.strip(),
        rinse=rinse.strip(),
        checked_by=checked_by.strip(),
        by=by,
        at=at,
        token=token,
    )
