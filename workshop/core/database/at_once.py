"""Write now or not at all: for what is not worth a wait while somebody else writes for long."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connection


@contextmanager
def at_once() -> Iterator[None]:
    """Within this SQLite refuses at once where it would wait its turn to write.

    PostgreSQL has no such turn: there a row waits for nobody but those who write that very row.
    """
    if connection.vendor != "sqlite":
        yield
        return
    connection.ensure_connection()
    book: Any = connection.connection
    [patience_ms] = book.execute("PRAGMA busy_timeout").fetchone()
    book.execute("PRAGMA busy_timeout = 0")
    try:
        yield
    finally:
        book.execute(f"PRAGMA busy_timeout = {int(patience_ms)}")
