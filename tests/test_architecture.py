"""The rooms look one way only, as the design says."""

import ast
import re
from pathlib import Path

import pytest

ROOMS = [
    "rules",
    "core",
    "ledger",
    "materials",
    "goods_in",
    "formulas",
    "kettle",
    "curing",
    "packing",
    "labels",
    "dispatch",
    "trace",
    "aftersales",
    "dossier",
    "costs",
    "counts",
    "planning",
    "workbench",
    "audit",
    "organic",
    "transfer",
    "front",
    "demo",
]
ROOT = Path(__file__).resolve().parent.parent / "workshop"


def imported(path: Path) -> set[str]:
    """Every module that a file imports, wherever in the file it does."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom):
            names.update(f"{node.module}.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.Import):
            names.update(alias.name for alias in node.names)
    return names


def rooms_of(names: set[str]) -> set[str]:
    parts = [name.split(".") for name in names]
    return {part[1] for part in parts if part[0] == "workshop" and part[1] in ROOMS}


def test_every_room_has_its_place() -> None:
    assert {path.parent.name for path in ROOT.glob("*/__init__.py")} == set(ROOMS)


@pytest.mark.parametrize("room", ROOMS)
def test_room_imports_only_itself_and_the_rooms_above_it(room: str) -> None:
    allowed = set(ROOMS[: ROOMS.index(room) + 1])
    for path in (ROOT / room).rglob("*.py"):
        assert rooms_of(imported(path)) <= allowed, path


WITH_TABLES = {"fields", "markets"}  # what columns are made of
WITH_PAGES = {"offline_protocol"}  # what a page's own script asks


def place_of(module: str) -> int:
    """How near a module is to the person: tables, what can happen, forms, pages, addresses."""
    *folders, name = module.split(".")
    if name == "urls":
        return 4
    if name.endswith("views") or name in WITH_PAGES:
        return 3
    if name.endswith("forms"):
        return 2
    return 0 if "models" in (*folders, name) or name in WITH_TABLES else 1


def module_of(path: Path) -> str:
    return ".".join(path.relative_to(ROOT.parent).with_suffix("").parts)


@pytest.mark.parametrize("room", ROOMS[1:])
def test_inside_a_room_imports_go_from_addresses_to_tables(room: str) -> None:
    modules = {module_of(path) for path in (ROOT / room).rglob("*.py")}
    for path in (ROOT / room).rglob("*.py"):
        mine = place_of(module_of(path))
        used = {name for found in imported(path) for name in (found, found.rpartition(".")[0])}
        later = {name for name in used & modules if place_of(name) > mine}
        assert later == set(), path


# Where the database is written to: a room's services, and what in core saves for all of them.
WRITING = ("services", "saving", "migrations", "demo")
WRITES = re.compile(
    r"@transaction\.atomic|\.objects\.create\(|\.bulk_create\(|\.get_or_create\(|"
    r"\.update_or_create\(|\bform\.save\(\)|\.delete\(\)|^\s+row\.save\("
)
# A password is changed by the framework's own form; a checked file is stored as one.
FRAMEWORKS_OWN = {"front/views.py", "core/files/uploads.py"}


@pytest.mark.parametrize("room", ROOMS[1:])
def test_only_services_write(room: str) -> None:
    for path in (ROOT / room).rglob("*.py"):
        place = path.relative_to(ROOT)
        named = any(part.removesuffix(".py") in WRITING for part in place.parts)
        if not named and str(place) not in FRAMEWORKS_OWN:
            assert not WRITES.search(path.read_text(encoding="utf-8")), place


MANY = 16


def test_no_folder_has_more_files_than_one_can_take_in() -> None:
    folders = [folder for folder in ROOT.rglob("*") if folder.is_dir()]
    crowded = {
        str(folder.relative_to(ROOT)): len(files)
        for folder in folders
        if len(files := [path for path in folder.glob("*.py") if path.name != "__init__.py"]) > MANY
    }
    assert crowded == {}


@pytest.mark.parametrize("room", ROOMS)
def test_room_says_what_it_holds_and_what_it_does_not(room: str) -> None:
    said = ast.get_docstring(ast.parse((ROOT / room / "__init__.py").read_text("utf-8"))) or ""
    holds, _, not_here = said.partition("\n\n")
    assert holds.endswith(".")
    assert not_here.strip().endswith(".")


def test_rules_know_neither_framework_nor_files() -> None:
    shut_out = ("django", "pathlib", "os", "io", "socket", "sqlite3", "urllib.request", "http")
    for path in (ROOT / "rules").rglob("*.py"):
        used = [
            name
            for name in imported(path)
            if f"{name}.".startswith(tuple(f"{s}." for s in shut_out))
        ]
        assert used == [], path


def test_no_import_inside_a_function() -> None:
    for path in ROOT.rglob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for function in ast.walk(tree):
            if isinstance(function, ast.FunctionDef):
                inner = [
                    node
                    for node in ast.walk(function)
                    if isinstance(node, ast.Import | ast.ImportFrom)
                ]
                assert inner == [], f"{path}: {function.name}"


def test_no_quantity_is_a_float() -> None:
    for path in ROOT.rglob("*.py"):
        assert "FloatField" not in path.read_text(encoding="utf-8"), path
