"""The whole book as one file."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from workshop.transfer.archive.write import archive
from workshop.transfer.backups.folder import whole_file
from workshop.transfer.management.told import told_in_a_sentence


class Command(BaseCommand):
    help = (
        "Write the whole book into one ZIP file of documented CSV tables and the files handed in."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE.zip")

    def handle(self, *_: Any, file: Path, **__: Any) -> None:
        if file.exists():
            raise CommandError(f"{file} is there already. Give another name, or move it away.")
        with told_in_a_sentence():
            whole_file(file, archive())
        self.stdout.write(f"Exported to {file}. Keep it as safe as the book.")
