"""The columns of a sheet: how each is headed, and its cells as values of the trade."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import parse_number
from workshop.rules.transfer.written_days import DayOrder, read_day

YES = {"yes", "y", "true", "1", "x", "organic"}
NO = {"no", "n", "false", "0", "-", ""}
Read = Callable[[str, DayOrder | None], Any]


class CellFault(ValueError):  # noqa: N818 -- reads as a word where it is raised
    """A cell cannot be read; the text is a sentence with what to do."""


@dataclass(frozen=True)
class Column:
    """One column that a kind of sheet knows: its heading, other usual headings, how it is read."""

    key: str
    heading: str
    read: Read
    required: bool = False
    also: Sequence[str] = ()
    example: str = ""
    help: str = ""

    def is_headed(self, text: str) -> bool:
        return bare(text) in {bare(one) for one in (self.key, self.heading, *self.also)}


def bare(heading: str) -> str:
    """A heading without what people write differently: case, blanks, marks, a unit in brackets."""
    return re.sub(r"[^a-z0-9]+", "", re.sub(r"\(.*?\)|,.*$", "", heading.lower()))


def text(longest: int) -> Read:
    def read(cell: str, _order: DayOrder | None) -> str:
        if len(cell) > longest:
            raise CellFault(f"It is longer than {longest} letters.")
        return cell

    return read


def yes_no(cell: str, _order: DayOrder | None) -> bool:
    word = cell.lower()
    if word not in YES | NO:
        raise CellFault(f"“{cell}” is neither yes nor no.")
    return word in YES


def number(places: int) -> Read:
    def read(cell: str, _order: DayOrder | None) -> Decimal | None:
        if not cell:
            return None
        try:
            exact = parse_number(cell.rstrip("% "))
        except RuleError as error:
            raise CellFault(str(error)) from error
        rounded = round(Decimal(exact.numerator) / exact.denominator, places)
        if rounded != exact:
            raise CellFault(f"Give at most {places} decimal places.")
        return rounded

    return read


def whole(cell: str, order: DayOrder | None) -> int | None:
    found = number(0)(cell, order)
    return None if found is None else int(found)


def day(cell: str, order: DayOrder | None) -> date | None:
    if not cell:
        return None
    try:
        return read_day(cell, order)
    except RuleError as error:
        raise CellFault(str(error)) from error


def one_of(words: Mapping[str, Any]) -> Read:
    def read(cell: str, _order: DayOrder | None) -> Any:
        if not cell:
            return None
        found = words.get(cell.lower())
        if found is None:
            raise CellFault(f"“{cell}” is none of: {', '.join(words)}.")
        return found

    return read


def several(cell: str, _order: DayOrder | None) -> list[str]:
    return [one.strip() for one in cell.split(";") if one.strip()]
