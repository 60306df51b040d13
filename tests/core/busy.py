"""A book that somebody else writes to for long, as an import does."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from django.db import connection
from django.db.backends.signals import connection_created


@contextmanager
def written_to_elsewhere(patience_ms: int = 100) -> Iterator[None]:
    """A second connection to the SQLite file holds the right to write, until the block ends.

    Others wait for it that long, instead of the twenty seconds of a book in use.
    """
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL lets several write at a time")

    def impatient(connection: Any, **_: Any) -> None:
        connection.connection.execute(f"PRAGMA busy_timeout = {patience_ms}")

    other = connection.copy()
    connection_created.connect(impatient)
    connection.ensure_connection()
    impatient(connection)
    other.connect()
    try:
        other.connection.execute("BEGIN IMMEDIATE")
        yield
    finally:
        other.connection.execute("ROLLBACK")
        other.close()
        connection_created.disconnect(impatient)
        connection.close()
