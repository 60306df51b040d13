"""Saving master data: checked against its own rules, with the acting person in its history."""

from datetime import datetime
from typing import TypeVar

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db import IntegrityError, models, transaction
from django.utils import timezone

from workshop.core.errors import ActionRefused
from workshop.core.models import User

Row = TypeVar("Row", bound=models.Model)


def save_with_history(row: Row, *, by: User, at: datetime | None = None) -> Row:
    """Save `row` and note in its history that `by` did it, at that time or now.

    Raises ActionRefused, with the sentence of the rule and its field, if the row breaks one.
    """
    _refuse_broken_rules(row)
    row._history_user = by  # type: ignore[attr-defined]  # read by simple_history
    row._history_date = at or timezone.now()  # type: ignore[attr-defined]  # likewise
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError as error:
        raise ActionRefused("Somebody has just entered the same. Reload the page.") from error
    return row


def _refuse_broken_rules(row: models.Model) -> None:
    try:
        row.full_clean()
    except ValidationError as error:
        field, sentences = next(iter(error.message_dict.items()))
        named = None if field == NON_FIELD_ERRORS else field
        raise ActionRefused(sentences[0], field=named) from error
