"""The whole book as it is at one moment, read while others go on writing."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connection, transaction


@contextmanager
def one_moment() -> Iterator[None]:
    """All that is read within this belongs to one moment, and nobody waits for it.

    SQLite's own transactions take the right to write at once, for the queue of those who do; this
    one only reads. Inside a transaction there is one moment already.
    """
    if connection.in_atomic_block:
        yield
        return
    book: Any = connection
    begin = getattr(book, "transaction_mode", None)
    book.transaction_mode = None
    try:
        with transaction.atomic():
            if connection.vendor == "postgresql":
                with connection.cursor() as cursor:
                    cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
    finally:
        book.transaction_mode = begin
