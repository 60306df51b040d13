"""The rules know only Python and each other, and no float holds a quantity in them."""

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

RULES = sorted(Path(__file__).parents[2].glob("workshop/rules/**/[!_]*.py"))
READS_OR_WRITES = {"open", "print", "input", "exec", "eval"}


def nodes(path: Path) -> Iterator[ast.AST]:
    return ast.walk(ast.parse(path.read_text(encoding="utf-8")))


def imported(path: Path) -> set[str]:
    names = [n.module or "" for n in nodes(path) if isinstance(n, ast.ImportFrom)]
    for node in nodes(path):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
    return set(names)


@pytest.mark.parametrize("path", RULES, ids=lambda path: path.stem)
def test_rule_imports_only_the_standard_library_and_other_rules(path: Path) -> None:
    outside = {
        name
        for name in imported(path)
        if not name.startswith("workshop.rules")
        and name.split(".")[0] not in sys.stdlib_module_names
    }

    assert outside == set()


@pytest.mark.parametrize("path", RULES, ids=lambda path: path.stem)
def test_rule_holds_no_float_and_touches_nothing_outside(path: Path) -> None:
    floats = [
        n.value for n in nodes(path) if isinstance(n, ast.Constant) and type(n.value) is float
    ]
    calls = {
        n.func.id for n in nodes(path) if isinstance(n, ast.Call) and isinstance(n.func, ast.Name)
    }

    assert floats == []
    assert calls & (READS_OR_WRITES | {"float"}) == set()


@pytest.mark.parametrize("path", RULES, ids=lambda path: path.stem)
def test_public_rule_says_what_it_does(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    public = [
        node
        for node in tree.body
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_")
    ]

    assert ast.get_docstring(tree)
    assert [node.name for node in public if not ast.get_docstring(node)] == []


def test_there_are_rules_to_look_at() -> None:
    assert {"units", "lot_codes", "rebalance", "declaration"} <= {path.stem for path in RULES}
