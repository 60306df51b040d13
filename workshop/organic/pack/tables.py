"""A table of the pack, and how its cells stand on paper."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from workshop.core import formatting

Cell = str | Decimal | date | int | None
Row = Sequence[Cell]


@dataclass(frozen=True)
class Table:
    """A table of a section."""

    title: str
    heads: Sequence[str]
    rows: Sequence[Row]
    words: str = ""


def text(value: Any) -> str:
    """A cell as paper shows it."""
    if value is None:
        return ""
    if isinstance(value, Decimal):
        return formatting.number(value)
    return formatting.day(value) if isinstance(value, date) else str(value)


def yes(said: object) -> str:
    return "yes" if said else "no"
