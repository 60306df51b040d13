"""Migrating an empty SQLite database once, not once for every process of every run.

The migrated database is kept beside pytest's own cache under a name made of all that shapes it;
`migrate` still runs over what was taken from there, and sets the guards anew.
"""

import hashlib
import os
import sqlite3
import tempfile
from pathlib import Path
from typing import Any

import django
from django.db import connection

PROJECT = Path(__file__).resolve().parent.parent
CACHE = PROJECT / ".pytest_cache" / "databases"


def kept_file() -> Path:
    """Where the database of these very migrations lies."""
    seed = hashlib.sha256(f"{django.__version__} {sqlite3.sqlite_version}".encode())
    for path in sorted(PROJECT.glob("workshop/*/migrations/*.py")):
        seed.update(path.relative_to(PROJECT).as_posix().encode())
        seed.update(path.read_bytes())
    return CACHE / f"{seed.hexdigest()[:16]}.sqlite3"


def take_kept(connection: Any, **_: Any) -> None:
    """Fill the empty database of a test run as soon as it is opened."""
    if connection.vendor != "sqlite":
        return
    into = connection.connection
    is_empty = into.execute("SELECT count(*) FROM sqlite_master").fetchone()[0] == 0
    if is_empty and (path := kept_file()).exists():
        copy(path, into)


def keep() -> None:
    """Keep the migrated database of this run, unless one of its kind is kept already."""
    path = kept_file()
    if connection.vendor != "sqlite" or path.exists():
        return
    CACHE.mkdir(parents=True, exist_ok=True)
    for outlived in CACHE.glob("*.sqlite3"):
        outlived.unlink(missing_ok=True)
    connection.ensure_connection()
    handle, name = tempfile.mkstemp(dir=CACHE)
    os.close(handle)
    kept = sqlite3.connect(name)
    connection.connection.backup(kept)
    kept.close()
    Path(name).replace(path)  # whole or not at all, whichever process is first


def copy(path: Path, into: sqlite3.Connection) -> None:
    kept = sqlite3.connect(f"{path.as_uri()}?immutable=1", uri=True)
    kept.backup(into)
    kept.close()
