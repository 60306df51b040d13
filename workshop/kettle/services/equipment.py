"""Keep kettles and scales."""

from datetime import datetime

from django.db import transaction

from workshop.core.models import User
from workshop.core.saving.with_history import save_with_history
from workshop.kettle.models import Kettle, Scale


@transaction.atomic
def save_equipment(thing: Kettle | Scale, *, by: User, at: datetime) -> Kettle | Scale:
    """Keep a kettle or a scale as its form filled it in, with who did so in its history."""
    return save_with_history(thing, by=by, at=at)
