"""Bring a whole book back from an export or a backup."""

import os
import subprocess
import sys
import tempfile
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand
from django.utils import timezone

from workshop.core.errors import ActionRefused
from workshop.core.progress import progress
from workshop.ledger.proof.findings import Finding
from workshop.transfer.archive.write import archive
from workshop.transfer.backups.folder import folder, new_name, note_tried, whole_file
from workshop.transfer.management.told import told_in_a_sentence
from workshop.transfer.services.restore import is_empty, restore

OURS = ("TAREBOOK_", "DATABASE_", "SECRET_KEY")


class Command(BaseCommand):
    help = (
        "Bring a whole book back from a file that export or backup made, on SQLite or PostgreSQL. "
        "It proves itself before it takes the place of what is here."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE.zip")
        parser.add_argument(
            "--replace",
            action="store_true",
            help="take the place of the book that is here, which is first kept as a backup",
        )
        parser.add_argument(
            "--try",
            action="store_true",
            dest="only_try",
            help="restore it into a folder of its own, prove it, and drop that again",
        )

    def handle(
        self, *_: Any, file: Path, replace: bool = False, only_try: bool = False, **__: Any
    ) -> None:
        with told_in_a_sentence("The book that was here stands as it was."):
            if only_try:
                self.try_out(file)
            else:
                self.bring_back(file, replace=replace)

    def bring_back(self, file: Path, *, replace: bool) -> None:
        if replace and not is_empty():
            before = folder() / new_name(timezone.now())
            whole_file(before, archive(with_key=True))
            self.stdout.write(f"The book that is here is kept as {before}.")
        back = restore(file, replace=replace, watch=progress, tell=self.tell)
        self.stdout.write(f"{back.rows:,} rows and {back.files} files are back, and sound.")
        self.stdout.write(f"Its chain ends with {back.head or 'nothing yet'}.")

    def tell(self, finding: Finding) -> None:
        verdict = "sound" if finding.is_sound else "NOT SOUND"
        self.stdout.write(f"{finding.looked_at:>10,}  {finding.check}: {verdict}")

    def try_out(self, file: Path) -> None:
        """In a process of its own, whose settings name a new SQLite book in a temporary folder."""
        kept = {name: value for name, value in os.environ.items() if not name.startswith(OURS)}
        with tempfile.TemporaryDirectory(prefix="tarebook-try-") as place:
            kept |= {"TAREBOOK_DATA": place, "TAREBOOK_TIME_ZONE": settings.TIME_ZONE}
            for words in (["migrate", "--verbosity=0"], ["restore", str(file.resolve())]):
                done = subprocess.run(  # noqa: S603 -- this very program
                    [sys.executable, "manage.py", *words],
                    cwd=settings.BASE_DIR,
                    env=kept,
                    check=False,
                    capture_output=True,
                    text=True,
                )
                if done.returncode:
                    said = done.stderr.strip().removeprefix("CommandError: ")
                    raise ActionRefused(f"{file} could not be restored. {said}")
                self.stdout.write(done.stdout.rstrip())
        note_tried(file, at=timezone.now())
        self.stdout.write(f"{file} can be restored: it was, beside this book, and is gone again.")
