"""Write down that a pack was made."""

from datetime import datetime
from typing import Any

from django.db import transaction

from workshop.core.models import User
from workshop.organic.models import Pack


@transaction.atomic
def record_pack(*, by: User, at: datetime, token: str, **values: Any) -> Pack:
    """Keep what a pack held and its digests; the same token again answers with the first."""
    known = Pack.objects.filter(token=token).first()
    return known or Pack.objects.create(**values, by=by, at=at, token=token)
