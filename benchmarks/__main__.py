"""Runs every benchmark on SQLite and on PostgreSQL, each in a process and a database of its own.

`python -m benchmarks` runs all; `python -m benchmarks 100000` stops at ledgers of that size.
"""

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import django
from django.core.management import call_command

from benchmarks.growth import growth
from benchmarks.timing import HEAD, Measurement
from tests.postgres import choose_database

SIZES = (10_000, 100_000, 1_000_000, 2_500_000)
FEEDS = (300, 2_000)  # how many batches one raw lot feeds


def main() -> int:
    if len(sys.argv) > 2:
        measure_on(sys.argv[1], sys.argv[2], *map(Path, sys.argv[3:]))
        return 0
    largest = int(sys.argv[1]) if len(sys.argv) > 1 else SIZES[-1]
    sizes = [size for size in SIZES if size <= largest]
    parts = [
        "acts",
        "kettle/0",
        f"kettle/{largest}",
        *(f"{size}/{feeds}" for feeds in FEEDS for size in sizes if size >= 10 * feeds),
    ]
    runs = [(vendor, part) for vendor in ("sqlite", "postgresql") for part in parts]
    with tempfile.TemporaryDirectory() as folder:
        kept = Path(folder, "walks")
        codes = [_run(vendor, part, kept) for vendor, part in [*runs, ("sqlite", "labels")]]
        walks = [json.loads(line) for line in kept.read_text().splitlines()]
    print(*growth(walks), sep="\n", flush=True)
    return max(codes)


def _run(vendor: str, part: str, kept: Path) -> int:
    command = [sys.executable, "-m", "benchmarks", vendor, part, str(kept)]
    return subprocess.run(command, check=False).returncode  # noqa: S603  ourselves


def measure_on(vendor: str, part: str, kept: Path | None = None) -> None:
    os.environ["TAREBOOK_EXPECT_VENDOR"] = vendor
    os.environ["DJANGO_SETTINGS_MODULE"] = "workshop.settings"
    choose_database()
    django.setup()
    call_command("migrate", verbosity=0)
    from benchmarks import family, kettle, labels, ledger  # noqa: PLC0415  models need django.setup()

    if part == "acts":
        print(f"\n{vendor}\n{HEAD}", flush=True)
    if part == "labels":
        print("\nlabels", *labels.measure(), sep="\n", flush=True)
        return
    size, _, feeds = part.partition("/")
    if part == "acts":
        measurements = ledger.measure()
    elif size == "kettle":
        measurements = kettle.measure(int(feeds))
    else:
        measurements = keep(family.measure(int(size), int(feeds)), kept, vendor, part)
    for measurement in measurements:
        print(measurement, flush=True)


def keep(
    measurements: Iterator[Measurement], kept: Path | None, vendor: str, part: str
) -> Iterator[Measurement]:
    """Note down what a link of each walk took, for the comparison at the end."""
    for measurement in measurements:
        if kept and measurement.links:
            walk = measurement.name.partition(": ")[2].partition(",")[0]
            with kept.open("a") as file:
                print(json.dumps([vendor, part, walk, measurement.us_a_link]), file=file)
        yield measurement


if __name__ == "__main__":
    sys.exit(main())
