"""Keep a copy of the whole book, and drop copies that are no longer kept."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.utils import timezone

from workshop.rules.transfer.backup_rotation import KeepingRule
from workshop.transfer.archive.write import archive
from workshop.transfer.backups.folder import drop_old, folder, new_name, whole_file
from workshop.transfer.management.told import told_in_a_sentence

USUAL = KeepingRule()
RULE = ("all-days", "weekly-days", "monthly-days")
HELP = (
    "keep all backups of so many days",
    "and one a week for so many days",
    "and one a month for so many days",
)


class Command(BaseCommand):
    help = "Keep database, files and key of the book together in one file, while it is in use."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--to", type=Path, help="the folder, instead of the usual one")
        parser.add_argument("--try", action="store_true", dest="also_try", help="restore it, too")
        for name, days, said in zip(RULE, USUAL, HELP, strict=True):
            parser.add_argument(f"--{name}", type=int, default=days, metavar="DAYS", help=said)

    def handle(self, *_: Any, to: Path | None, also_try: bool, **options: Any) -> None:
        at, place = timezone.now(), to or folder()
        path = place / new_name(at)
        rule = KeepingRule(*(options[name.replace("-", "_")] for name in RULE))
        with told_in_a_sentence():
            whole_file(path, archive(with_key=True))
            gone = drop_old(place, at=at, rule=rule)
        self.stdout.write(f"Kept as {path} ({path.stat().st_size:,} bytes).")
        if gone:
            self.stdout.write(f"Dropped by the rule of days: {len(gone)}.")
        if also_try:
            call_command("restore", path, only_try=True, stdout=self.stdout)
