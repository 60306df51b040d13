"""A copy of the tree for one room, in which mutmut may write what it likes."""

import shutil
import subprocess
import sys
from pathlib import Path

from mutation.modules_and_tests import Room
from mutation.undecorated import undecorated

PROJECT = Path(__file__).resolve().parent.parent
# No migrations and a fixed seed: quick, and the same answer twice. Mutmut copies functions with
# their docstrings, whose examples need to run once only.
PYTEST = (
    "--no-migrations",
    "--hypothesis-seed=0",
    "-p",
    "no:cacheprovider",
    "-k",
    "not __mutmut_",
)
# A fault may keep its tests from ever ending: they get four times what they took, and four times
# this for starting. Less would take a busy machine's slowness for a fault noticed.
PATIENCE_S = 15.0
SETTINGS = """
[tool.mutmut]
source_paths = ["{package}"]
only_mutate = {modules}
also_copy = {copied}
pytest_add_cli_args_test_selection = {tests}
pytest_add_cli_args = {options}
timeout_multiplier = 4.0
timeout_constant = {patience}
track_dependencies = false
use_git_change_detection = false
"""


def furnish(room: Room, folder: Path) -> list[str]:
    """Fill the folder; the modules to be tried, as paths below it."""
    for name in _kept_files():
        target = folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(PROJECT / name, target)
    modules = modules_of(room)
    for module in modules:
        path = folder / module
        path.write_text(undecorated(path.read_text("utf-8")), "utf-8")
    _add_settings(room, folder, modules)
    return modules


def narrowed(room: Room, module: str) -> Room:
    """The room with one module only; of the rules, which know no other room, with its tests."""
    patterns = [p for p in modules_of(room) if Path(p).stem == module]
    if not patterns:
        sys.exit(f"No module {module} in {room.name}")
    own = sorted((PROJECT / "tests/rules").glob(f"test_{module}*.py"))
    names = [path.relative_to(PROJECT).as_posix() for path in own]
    tests = (*names, *patterns) if room.name == "rules" and names else room.tests
    inner = tuple(str(Path(path).relative_to(room.package)) for path in patterns)
    return room._replace(modules=inner, tests=tests)


def modules_of(room: Room) -> list[str]:
    package = PROJECT / room.package
    found = {path for pattern in room.modules for path in package.glob(pattern)}
    return sorted(path.relative_to(PROJECT).as_posix() for path in found)


def _add_settings(room: Room, folder: Path, modules: list[str]) -> None:
    ignored = (f"--ignore={path}" for path in room.ignored)
    text = SETTINGS.format(
        package=room.package,
        modules=modules,
        copied=sorted(path.name for path in folder.iterdir()),
        tests=[*room.tests],
        options=[*PYTEST, *ignored],
        patience=PATIENCE_S,
    )
    with (folder / "pyproject.toml").open("a", encoding="utf-8") as settings:
        settings.write(text)


def _kept_files() -> list[str]:
    command = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    listed = subprocess.run(command, cwd=PROJECT, capture_output=True, check=True)  # noqa: S603
    names = listed.stdout.decode().split("\0")
    return [name for name in names if name and (PROJECT / name).is_file()]
