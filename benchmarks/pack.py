"""The inspector's pack of a year of the demonstration: its time and its memory."""

import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import date, timedelta
from io import StringIO
from pathlib import Path
from typing import NamedTuple

from django.core.management import call_command
from django.db import connection
from django.utils import timezone

from workshop.core.models import Role, User
from workshop.core.saving.new_tokens import new_token
from workshop.organic.balance.query import Period
from workshop.organic.pack.build import begin, step

YEAR = timedelta(days=365)
MOST_S, MOST_MB = 60, 250


class Made(NamedTuple):
    """One pack: what is in it, and what this process had taken when it was done."""

    files: int
    steps: int
    seconds: float
    peak_mb: float

    def __str__(self) -> str:
        return (
            f"{self.files} files in {self.steps} steps, {self.seconds:.1f} s of this processor, "
            f"{self.peak_mb:.0f} MB at most (a year: {MOST_S} s, {MOST_MB} MB)"
        )


def measure(months: int) -> Iterator[str]:
    """Fill the book with so many months, and make the pack of the last year of it.

    In a process of its own: what the filling took is no memory of the pack.
    """
    call_command("demo", until=timezone.localdate(), months=months, stdout=StringIO())
    connection.close()
    command = [sys.executable, "-m", "benchmarks.pack_memory"]
    told = subprocess.run(command, check=True, capture_output=True, text=True)  # noqa: S603  ourselves
    yield f"{months} months: {told.stdout.strip()}"


def of_a_year() -> Made:
    last = timezone.localdate()
    return pack_of(last - YEAR, last, User.objects.filter(role=Role.OWNER)[0])


def pack_of(first: date, last: date, by: User) -> Made:
    """The seconds are those of the processor: a busy machine does not lengthen them."""
    began = time.process_time()
    job = begin(new_token(), Period(first, last), seed="spring", chosen=[])
    made = None
    while made is None:
        made = step(job, by=by, at=timezone.now())
    seconds = time.process_time() - began
    return Made(made.file_count, len(job.steps), seconds, _peak_mb())


def _peak_mb() -> float:
    # Not getrusage: what it tells outlives the start of the program, and is the parent's.
    status = Path("/proc/self/status").read_text(encoding="ascii").split()
    return int(status[status.index("VmHWM:") + 1]) / 1024
