"""Runs every benchmark on SQLite and on PostgreSQL, each in a process and a database of its own."""

import os
import subprocess
import sys

import django
from django.core.management import call_command

from tests.postgres import choose_database


def main() -> int:
    if len(sys.argv) > 1:
        measure_on(sys.argv[1])
        return 0
    codes = [
        subprocess.run([sys.executable, "-m", "benchmarks", vendor], check=False).returncode  # noqa: S603  ourselves
        for vendor in ("sqlite", "postgresql")
    ]
    return max(codes)


def measure_on(vendor: str) -> None:
    os.environ["TAREBOOK_EXPECT_VENDOR"] = vendor
    os.environ["DJANGO_SETTINGS_MODULE"] = "workshop.settings"
    choose_database()
    django.setup()
    call_command("migrate", verbosity=0)
    from benchmarks import ledger  # noqa: PLC0415  its models exist only after django.setup()

    print(f"\n{vendor:<34}{'the book':>12}{'bare SQL':>12}{'ratio':>10}", flush=True)
    for measurement in ledger.measure():
        print(measurement, flush=True)


if __name__ == "__main__":
    sys.exit(main())
