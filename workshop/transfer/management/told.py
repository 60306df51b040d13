"""What goes wrong in a command is told in a sentence."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.core.management.base import CommandError
from django.db import DatabaseError, connection

from workshop.core.database.tables_of_version import tables_amiss
from workshop.core.errors import ActionRefused
from workshop.core.web.error_pages import sentence_for


@contextmanager
def told_in_a_sentence(after: str = "") -> Iterator[None]:
    """Raises CommandError, with what holds after a fault of the machine: that the book stands, say.

    Nothing is begun on tables of another version.
    """
    try:
        if amiss := tables_amiss(connection):
            raise CommandError(amiss)
        yield
    except ActionRefused as error:
        raise CommandError(error.message) from error
    except (DatabaseError, OSError) as error:
        why = sentence_for(error) or f"{error}."
        raise CommandError(f"{why} {after}".rstrip()) from error
