"""Saving master data: checked against its own rules, with the acting person in its history."""

from collections.abc import Iterator
from contextlib import contextmanager
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
    with _first_sentence():
        row.full_clean(validate_unique=False, validate_constraints=False)
    row._history_user = by  # type: ignore[attr-defined]  # read by simple_history
    row._history_date = at or timezone.now()  # type: ignore[attr-defined]  # likewise
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError as error:
        # The database holds each of these rules; which one it was is asked only now, as asking
        # beforehand takes a query for each of them.
        with _first_sentence():
            row.full_clean()
        raise ActionRefused("Somebody has just entered the same. Reload the page.") from error
    return row


@contextmanager
def _first_sentence() -> Iterator[None]:
    try:
        yield
    except ValidationError as error:
        field, sentences = next(iter(error.message_dict.items()))
        named = None if field == NON_FIELD_ERRORS else field
        raise ActionRefused(sentences[0], field=named) from error
