"""Keep how much of a material what touches the skin may hold."""

from datetime import datetime

from django.db import transaction

from workshop.core.models import User
from workshop.core.saving.with_history import save_with_history
from workshop.materials.models import UseLimit


@transaction.atomic
def save_use_limit(limit: UseLimit, *, by: User, at: datetime) -> UseLimit:
    """Keep a limit as its form filled it in, with who did so in its history."""
    return save_with_history(limit, by=by, at=at)
