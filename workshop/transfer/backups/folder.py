"""The folder of backups: make one, drop what the rule no longer keeps, say how things stand."""

import fcntl
import json
import os
import re
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.utils import timezone

from workshop.core.errors import ActionRefused
from workshop.ledger.models import Seal
from workshop.rules.transfer.backup_rotation import KeepingRule, kept

HALF = ".half"
NAME = re.compile(r"tarebook-(\d{8}T\d{6})Z\.zip")
TRIED = "last-tried.json"
# Common practice, no source: a weekend without one is nothing to be alarmed about.
OLD = timedelta(days=3)


@dataclass(frozen=True)
class Backup:
    """One backup: its file, when it was made (UTC), and how many bytes it has."""

    path: Path
    at: datetime
    size: int

    @property
    def name(self) -> str:
        return self.path.name


@dataclass(frozen=True)
class BackupState:
    """How the backups stand: which there are, newest first, and the one that was last tried."""

    folder: Path
    backups: list[Backup]
    tried_at: datetime | None
    tried_name: str
    is_needed: bool

    @property
    def newest(self) -> Backup | None:
        return self.backups[0] if self.backups else None

    @property
    def is_old(self) -> bool:
        """Whether somebody should see to it: the book has records, and no late copy of them."""
        return self.is_needed and (self.newest is None or timezone.now() - self.newest.at > OLD)


def folder() -> Path:
    return Path(settings.BACKUP_DIR)


def backups_in(place: Path) -> list[Backup]:
    """Newest first; a file of any other name is none of ours."""
    try:
        names = [path for path in place.iterdir() if NAME.fullmatch(path.name)]
        found = [Backup(path, _made_at(path), path.stat().st_size) for path in names]
    except OSError:
        return []
    return sorted(found, key=lambda one: one.at, reverse=True)


def _made_at(path: Path) -> datetime:
    match = NAME.fullmatch(path.name)
    return datetime.strptime(match[1] if match else "", "%Y%m%dT%H%M%S").replace(tzinfo=UTC)


def state() -> BackupState:
    place = folder()
    at, name = last_tried(place)
    return BackupState(place, backups_in(place), at, name, Seal.objects.exists())


def last_tried(place: Path) -> tuple[datetime | None, str]:
    try:
        said: Any = json.loads((place / TRIED).read_text("utf-8"))
        return datetime.fromisoformat(said["at"]), str(said["name"])
    except (OSError, ValueError, KeyError, TypeError):
        return None, ""


def note_tried(backup: Path, *, at: datetime) -> None:
    """That this file was restored beside the book, and proved itself."""
    said = json.dumps({"at": at.isoformat(), "name": backup.name})
    whole_file(backup.parent / TRIED, [said.encode()])


def whole_file(path: Path, pieces: Iterable[bytes]) -> None:
    """Write a file under its name only once all of it is on the disk; until then it is a half.

    Raises ActionRefused where it cannot be written; nothing is left of it then. A half that is
    being written is locked, so that nobody takes it for one that a kill left.
    """
    half = path.with_name(path.name + HALF)
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        descriptor = os.open(half, os.O_WRONLY | os.O_CREAT, 0o600)
        if not _is_ours(descriptor, half):
            os.close(descriptor)
            raise ActionRefused(f"{path} is being written at this moment. Try again after that.")
        try:
            with os.fdopen(descriptor, "wb") as file:
                file.truncate()
                for piece in _readable(pieces):
                    file.write(piece)
                file.flush()
                os.fsync(file.fileno())
            half.replace(path)
        except BaseException:
            half.unlink(missing_ok=True)
            raise
    except OSError as error:
        raise ActionRefused(f"{path} cannot be written: {error.strerror or error}.") from error


def _is_ours(descriptor: int, half: Path) -> bool:
    """Whether nobody else is writing this half; from now on it is locked as long as it is open.

    Meanwhile it may have become whole, and no half is there by that name.
    """
    with suppress(BlockingIOError, FileNotFoundError):
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        return os.path.samestat(os.fstat(descriptor), half.stat())
    return False


def _readable(pieces: Iterable[bytes]) -> Iterator[bytes]:
    """The pieces; what cannot be read is not said to be what cannot be written."""
    try:
        yield from pieces
    except OSError as error:
        what = error.filename or "A file of the book"
        raise ActionRefused(f"{what} cannot be read: {error.strerror or error}.") from error


def new_name(at: datetime) -> str:
    return f"tarebook-{at.astimezone(UTC):%Y%m%dT%H%M%S}Z.zip"


def drop_old(place: Path, *, at: datetime, rule: KeepingRule | None = None) -> list[Backup]:
    """Remove what the rule no longer keeps, and halves that a kill left; say which went.

    Days are those of UTC, as in the names.
    """
    found = backups_in(place)
    stay = kept((one.at.date() for one in found), today=at.astimezone(UTC).date(), rule=rule)
    gone = [one for one in found if one.at.date() not in stay]
    for one in gone:
        one.path.unlink(missing_ok=True)
    for half in place.glob(f"tarebook-*{HALF}"):
        _drop_left(half)
    return gone


def _drop_left(half: Path) -> None:
    with suppress(OSError):
        descriptor = os.open(half, os.O_WRONLY)
        try:
            if _is_ours(descriptor, half):
                half.unlink(missing_ok=True)
        finally:
            os.close(descriptor)
