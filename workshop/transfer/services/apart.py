"""Take a file in by a process of its own, and tell how far it is.

Ten thousand rows take longer than a web process should answer. What is under way holds a lock on a
file, which the kernel lets go when the process ends, however it ends; so nobody is told for ever
that something is still under way. All is written in one transaction: a process that was killed
leaves the book as it was.
"""

import fcntl
import json
import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import IO

from django.conf import settings
from django.db import DatabaseError

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.web.error_pages import sentence_for
from workshop.rules.transfer.written_days import DayOrder
from workshop.transfer.models import SheetImport
from workshop.transfer.services.take_in import take_in
from workshop.transfer.spreadsheets import read

TOLD_EVERY_S = 0.4
TRIES, BETWEEN_S = 10, 0.05
NOTHING_NEW = "The book says all of this already; nothing was written."


@dataclass(frozen=True)
class Run:
    """The file that was taken in last, or is being imported."""

    digest: str
    file_name: str
    order: str
    by: int
    at: str
    done: int = 0
    of: int = 0
    sentence: str = ""  # why nothing was written
    process: int = 0
    is_under_way: bool = False

    @property
    def percent(self) -> int:
        return 100 * self.done // self.of if self.of else 0

    @property
    def taken_in(self) -> SheetImport | None:
        """What it wrote. The book is asked, and not a note beside it, which may be of before."""
        at = datetime.fromisoformat(self.at)
        return SheetImport.objects.filter(sha256=self.digest, at=at).first()


def start(digest: str, *, file_name: str, order: DayOrder | None, by: User, at: datetime) -> bool:
    """Begin it in a process that outlives this one; False while another is under way."""
    if not read.is_kept(digest):
        raise ActionRefused("The file is no longer kept. Choose it again.", field="file")
    with _lock_file() as held:
        if not _is_locked(held, fcntl.LOCK_EX):
            return False
        run = Run(digest, file_name, order.value if order else "", by.pk, at.isoformat())
        note(run)
        process = subprocess.Popen(  # noqa: S603  a command of our own
            [sys.executable, str(Path(settings.BASE_DIR) / "manage.py"), "take_in_kept"],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            pass_fds=[held.fileno()],  # the lock is let go when the last of both has ended
            start_new_session=True,
        )
    threading.Thread(target=process.wait, daemon=True).start()  # so that nothing is left of it
    return True


def work() -> None:
    """What the process of its own does: take in what was begun last."""
    run = replace(_noted(), process=os.getpid())
    with suppress(OSError):  # as below
        note(run)
    try:
        done = take_in(
            read.sheets(run.digest),
            file_name=run.file_name,
            digest=run.digest,
            order=DayOrder(run.order) if run.order else None,
            by=User.objects.get(pk=run.by),
            at=datetime.fromisoformat(run.at),
            tell=_teller(run),
        )
    except ActionRefused as error:
        note(replace(run, sentence=error.message))
        return
    except (DatabaseError, OSError) as error:
        with suppress(OSError):  # where even this has no room, the page says that it broke off
            note(replace(run, sentence=sentence_for(error)))
        raise
    if done is None:
        note(replace(run, sentence=NOTHING_NEW))


def last_run() -> Run | None:
    """How far it is; None where nothing was ever begun here."""
    with suppress(OSError, ValueError, TypeError), _lock_file() as probe:
        is_under_way = not _is_locked(probe, fcntl.LOCK_SH)
        return replace(_noted(), is_under_way=is_under_way)
    return None


def _teller(run: Run) -> Callable[[int, int], None]:
    told = 0.0

    def tell(done: int, of: int) -> None:
        nonlocal told
        now = time.monotonic()
        if now - told >= TOLD_EVERY_S or done == of:
            told = now
            with suppress(OSError):  # a disk too full to tell how far it is does not stop it
                note(replace(run, done=done, of=of))

    return tell


def _lock_file() -> IO[bytes]:
    read.folder().mkdir(parents=True, exist_ok=True, mode=0o700)
    return (read.folder() / "under-way.lock").open("ab")


def _is_locked(file: IO[bytes], how: int) -> bool:
    """Whether the lock could be had; somebody who looks at a page has it for an instant."""
    for _ in range(TRIES if how == fcntl.LOCK_EX else 1):
        with suppress(BlockingIOError):
            fcntl.flock(file, how | fcntl.LOCK_NB)
            return True
        time.sleep(BETWEEN_S)
    return False


def _noted() -> Run:
    return Run(**json.loads((read.folder() / "under-way.json").read_bytes()))


def note(run: Run) -> None:
    """Whole or not at all, since pages read it meanwhile."""
    half = read.folder() / "under-way.half"
    half.write_text(json.dumps(asdict(run)))
    half.replace(read.folder() / "under-way.json")
