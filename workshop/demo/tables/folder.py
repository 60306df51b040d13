"""Where the tables of the demonstration lie, and how one is read."""

import csv
from pathlib import Path

from django.conf import settings

TABLES = Path(settings.BASE_DIR) / "fixtures" / "demo"


def rows_of(name: str) -> list[dict[str, str]]:
    with (TABLES / name).open(encoding="utf-8", newline="") as table:
        return list(csv.DictReader(table))
