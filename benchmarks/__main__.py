"""Runs every benchmark on SQLite and on PostgreSQL, each in a process and a database of its own.

`python -m benchmarks` runs all; `python -m benchmarks 100000` stops at ledgers of that size;
`python -m benchmarks postgresql proof/20000` runs one part on one database.
"""

import os
import subprocess
import sys

import django
from django.core.management import call_command

from benchmarks.timing import HEAD
from tests.postgres import choose_database

SMALL = 100_000  # what a larger ledger is held against
SIZES = (10_000, SMALL, 1_000_000, 2_500_000)
A_SEASON, YEAR_AND_MORE = 3, 13  # months of the demonstration that a pack is made of
FEEDS = (300, 2_000)  # how many batches one raw lot feeds


def main() -> int:
    if len(sys.argv) > 2:
        measure_on(sys.argv[1], sys.argv[2])
        return 0
    largest = int(sys.argv[1]) if len(sys.argv) > 1 else SIZES[-1]
    sizes = [size for size in SIZES if size <= largest]
    parts = [
        "acts",
        "week",
        "kettle/0",
        "workbench",
        f"kettle/{largest}",
        *(f"{size}/{feeds}" for feeds in FEEDS for size in sizes if size >= 10 * feeds),
    ]
    parts += [f"balances/{size}" for size in sizes if size >= SMALL]
    parts += [f"proof/{size}" for size in sizes if size >= SMALL]
    parts += [f"money/{size}" for size in sizes if size >= SMALL]
    parts.append(f"pack/{YEAR_AND_MORE if largest > SMALL else A_SEASON}")
    if largest > SMALL:
        parts += [f"growth/{largest}/{feeds}" for feeds in FEEDS]
    runs = [(vendor, part) for vendor in ("sqlite", "postgresql") for part in parts]
    return max(
        _run(vendor, part) for vendor, part in [*runs, ("sqlite", "labels"), ("sqlite", "papers")]
    )


def _run(vendor: str, part: str) -> int:
    command = [sys.executable, "-m", "benchmarks", vendor, part]
    return subprocess.run(command, check=False).returncode  # noqa: S603  ourselves


def measure_on(vendor: str, part: str) -> None:
    os.environ["TAREBOOK_EXPECT_VENDOR"] = vendor
    os.environ["DJANGO_SETTINGS_MODULE"] = "workshop.settings"
    choose_database()
    django.setup()
    from benchmarks import (  # noqa: PLC0415  need django.setup()
        balances,
        family,
        growth,
        kettle,
        labels,
        ledger,
        money,
        pack,
        papers,
        proof,
        week,
        workbench,
    )

    what, *numbers = part.split("/")
    if what == "growth":  # two other processes hold the ledgers
        large, feeds = map(int, numbers)
        print(growth.HEAD, *growth.growth(vendor, feeds, SMALL, large), sep="\n", flush=True)
        return
    call_command("migrate", verbosity=0)
    if what == "serve":
        growth.serve(*map(int, numbers))
    elif what in ("labels", "papers", "week", "workbench"):
        reports = {"labels": labels, "papers": papers, "week": week, "workbench": workbench}
        print(f"\n{what}", *reports[what].measure(), sep="\n", flush=True)
    elif what in ("balances", "money", "proof"):
        rooms = {"balances": balances, "money": money, "proof": proof}
        print(*rooms[what].measure(int(numbers[0])), sep="\n", flush=True)
    elif what == "pack":
        print(f"\n{what}", *pack.measure(int(numbers[0])), sep="\n", flush=True)
    elif what == "acts":
        print(f"\n{vendor}\n{HEAD}", *ledger.measure(), sep="\n", flush=True)
    elif what == "kettle":
        print(*kettle.measure(int(numbers[0])), sep="\n", flush=True)
    else:
        print(*family.measure(int(what), int(numbers[0])), sep="\n", flush=True)


if __name__ == "__main__":
    sys.exit(main())
