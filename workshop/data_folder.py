"""The folder that the book keeps everything in: shut to other people of the machine, with its key.

Read by the settings, so it knows nothing of the framework but the error for a wrong set-up.
"""

import os
import secrets
import stat
from contextlib import suppress
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured

KEY = "secret-key"
DATABASE = "tarebook.sqlite3"
# What may lie in a folder that is the book's alone; another one is not ours to shut.
OURS = {
    KEY,
    DATABASE,
    f"{DATABASE}-wal",
    f"{DATABASE}-shm",
    "uploads",
    "backups",
    "brought-in",
    "static",
}
OTHERS = stat.S_IRWXG | stat.S_IRWXO


def shut(folder: Path) -> None:
    """Shut what the book keeps to others, and the folder if nothing but that lies in it."""
    inside = {path.name: path for path in folder.iterdir()} if folder.is_dir() else {}
    if inside and set(inside) <= OURS:
        _shut(folder)
    for name in OURS & set(inside):
        _shut(inside[name])


def shut_database(path: Path) -> None:
    """Make the file before SQLite does, as its owner's alone; its journals get the same rights."""
    if path.parent.is_dir():
        with suppress(OSError):
            path.touch(mode=0o600)
        for name in (path.name, f"{path.name}-wal", f"{path.name}-shm"):
            _shut(path.with_name(name))


def _shut(path: Path) -> None:
    with suppress(OSError):  # not there, or somebody else's, who has set it up as they want it
        mode = stat.S_IMODE(path.stat().st_mode)
        if mode & OTHERS:
            path.chmod(mode & ~OTHERS)


def kept_secret_key(folder: Path) -> str:
    """The key made on the first run and kept beside the database.

    It is written under another name and then linked to its own, so that nobody ever reads half of
    it, and of two processes that start at once both go on with the same one.
    """
    path = folder / KEY
    if not path.exists():
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        _make_key(path)
    key = path.read_text(encoding="ascii").strip()
    if not key:
        raise ImproperlyConfigured(
            f"The file {path} is empty. Put back the one of your backup. If there is none, delete "
            "the file and start again: a new key is made, everybody signs in again, and readings "
            "still waiting in a tablet must be recorded again."
        )
    return key


def _make_key(path: Path) -> None:
    fresh = path.with_name(f"{KEY}-{secrets.token_hex(8)}")
    descriptor = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "w", encoding="ascii") as file:
        file.write(secrets.token_urlsafe(64))
        file.flush()
        os.fsync(file.fileno())
    try:
        path.hardlink_to(fresh)
    except FileExistsError:
        pass  # another process was a moment quicker
    except OSError:
        fresh.rename(path)  # a file system without links, such as a stick's
    finally:
        fresh.unlink(missing_ok=True)
