"""One writer at a time where a number must follow the last one."""

from zlib import crc32

from django.db import connection


def advisory_lock(name: str) -> None:
    """Wait until no other transaction holds `name`; let go at the end of this one.

    On SQLite an immediate transaction already holds the whole database.
    """
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [crc32(name.encode())])
