"""What the workshop makes: made-up formulas of our own, from `fixtures/demo/formulas.toml`."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from workshop.demo.tables.folder import TABLES
from workshop.formulas.draft.validation import StepIn


@dataclass(frozen=True)
class RecipeLine:
    """One line: the material or bulk, its percent, and what may stand in for it."""

    code: str
    share: str
    phase: str = "A"
    tolerance: str = "2"
    is_irreversible: bool = False
    instead: tuple[str, ...] = ()
    # What is left of what is strained out again, and what the marc holds back of the oil.
    stays: str = ""
    held_back: str = "0"


@dataclass(frozen=True, kw_only=True)
class Recipe:
    """A bulk and its formula; `batches` is how many there are in eighteen months, about."""

    code: str
    name: str
    formula: str
    lines: tuple[RecipeLine, ...]
    steps: tuple[StepIn, ...]
    sizes_g: tuple[int, ...]
    batches: int
    loss: str = "2"
    months: int = 12
    rework: str = "0"
    claims_organic: bool = False
    is_rinse_off: bool = False
    cure_days: int | None = None
    cure: Mapping[str, Decimal] = field(default_factory=dict)
    note: str = ""


def _recipe(row: Mapping[str, Any]) -> Recipe:
    lines = tuple(RecipeLine(**_with_tuples(line)) for line in row["lines"])
    steps = tuple(StepIn(**_with_degrees(step)) for step in row["steps"])
    cure = {name: Decimal(figure) for name, figure in row.get("cure", {}).items()}
    return Recipe(**{**_with_tuples(row), "cure": cure, "lines": lines, "steps": steps})


def _with_tuples(row: Mapping[str, Any]) -> dict[str, Any]:
    return {name: tuple(one) if isinstance(one, list) else one for name, one in row.items()}


def _with_degrees(step: Mapping[str, Any]) -> dict[str, Any]:
    return {name: Decimal(one) if name.endswith("_c") else one for name, one in step.items()}


with (TABLES / "formulas.toml").open("rb") as table:
    RECIPES = tuple(_recipe(row) for row in tomllib.load(table)["formula"])
BY_CODE = {recipe.code: recipe for recipe in RECIPES}
INFUSION, SALVE, SOAP = (BY_CODE[code] for code in ("BULK-INF", "BULK-SAL", "BULK-SOA"))
