"""The rooms look one way only, as the design says."""

import ast
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
    "packing",
    "labels",
    "dispatch",
    "trace",
    "aftersales",
    "audit",
    "front",
    "demo",
]
INSIDE = ["models", "services", "forms", "views", "urls"]
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


@pytest.mark.parametrize("room", ROOMS[1:])
def test_inside_a_room_imports_go_from_addresses_to_tables(room: str) -> None:
    for place, name in enumerate(INSIDE):
        path = ROOT / room / f"{name}.py"
        later = {f"workshop.{room}.{other}" for other in INSIDE[place + 1 :]}
        if path.exists():
            used = {".".join(found.split(".")[:3]) for found in imported(path)}
            assert used & later == set(), path


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
