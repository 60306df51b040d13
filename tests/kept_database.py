"""Migrating an empty database once, not once for every process of every run.

The migrated database is kept under a name made of all that shapes it: SQLite's beside pytest's own
cache, PostgreSQL's as a template on its server. `migrate` still runs over what was taken from
there, and sets the guards anew.
"""

import hashlib
import os
import shutil
import sqlite3
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import Any

import django
from django.db import DatabaseError, connection

PROJECT = Path(__file__).resolve().parent.parent
CACHE = PROJECT / ".pytest_cache" / "databases"


def fingerprint() -> str:
    """Of all that shapes an empty database."""
    seed = hashlib.sha256(f"{django.__version__} {sqlite3.sqlite_version}".encode())
    for path in sorted(PROJECT.glob("workshop/*/migrations/*.py")):
        seed.update(path.relative_to(PROJECT).as_posix().encode())
        seed.update(path.read_bytes())
    return seed.hexdigest()[:16]


def kept_file() -> Path:
    return CACHE / f"{fingerprint()}.sqlite3"


def take_kept(connection: Any, **_: Any) -> None:
    """Fill the empty database of a test run as soon as it is opened."""
    if connection.vendor != "sqlite":
        return
    into = connection.connection
    is_empty = into.execute("SELECT count(*) FROM sqlite_master").fetchone()[0] == 0
    if is_empty and (path := kept_file()).exists():
        copy(path, into)


def place(folder: Path) -> None:
    """Let a book of its own begin with the migrated database, where one is kept already."""
    folder.mkdir(parents=True, exist_ok=True)
    if (path := kept_file()).exists():
        shutil.copyfile(path, folder / "tarebook.sqlite3")
        (folder / "tarebook.sqlite3").chmod(0o600)


def keep() -> None:
    """Keep the migrated database of this run, unless one of its kind is kept already."""
    if connection.vendor == "sqlite":
        keep_file(kept_file())
    elif is_our_server():
        keep_template()


def address() -> str:
    """Where a process beside this one finds the database of the tests."""
    name = connection.settings_dict["NAME"]
    if connection.vendor == "sqlite":
        return f"sqlite:///{name}"
    before, _, after = os.environ["DATABASE_URL"].partition("?")
    return f"{before.rpartition('/')[0]}/{name}?{after}"


def template() -> str:
    return f"tarebook_empty_{fingerprint()}"


def is_our_server() -> bool:
    """Whether the server is gone after the run; nothing is left on anybody else's."""
    return connection.vendor == "postgresql" and "TAREBOOK_TEST_SERVER" in os.environ


def has_template() -> bool:
    with connection._nodb_cursor() as cursor:
        cursor.execute("SELECT 1 FROM pg_database WHERE datname = %s", [template()])
        return cursor.fetchone() is not None


def take_template() -> None:
    """Let PostgreSQL copy the test database from the one that is kept on its server."""
    if is_our_server() and has_template():
        connection.settings_dict["TEST"]["TEMPLATE"] = template()


def keep_template() -> None:
    if has_template():
        return
    names = map(connection.ops.quote_name, (template(), connection.settings_dict["NAME"]))
    connection.close()  # nothing may look at what is copied
    with connection._nodb_cursor() as cursor, suppress(DatabaseError):  # another process was first
        cursor.execute("CREATE DATABASE {} TEMPLATE {}".format(*names))


def keep_file(path: Path) -> None:
    if path.exists():
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
