"""The columns of a sheet: how each is headed, and its cells as values of the trade."""

import re
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import parse_number
from workshop.rules.transfer.written_days import DayOrder, read_day

# What spreadsheet programs write into a cell that they could not reckon: ECMA-376, 18.18.11
# (ST_CellType, error values) from memory, with those that came later.
ERRORS = {"#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A", "#SPILL!", "#CALC!"}
FIRST_DAY, LAST_DAY = date(1900, 1, 1), date(2199, 12, 31)
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


def refuse_unreckoned(cell: str) -> None:
    """Raises CellFault where a program left a formula or an error instead of what was meant."""
    if cell in ERRORS:
        raise CellFault("It is an error of the spreadsheet program. Correct the formula behind it.")
    if cell.startswith("="):
        raise CellFault(
            "It holds a formula and not what that comes to. Open the file in a spreadsheet program "
            "and save it, or write the value."
        )


def text(longest: int) -> Read:
    """Words in one line, whatever breaks the cell has."""
    read_lines = lines(longest)

    def read(cell: str, order: DayOrder | None) -> str:
        return str(read_lines(" ".join(cell.split()), order))

    return read


def lines(longest: int) -> Read:
    """Words in as many lines as the cell has."""

    def read(cell: str, _order: DayOrder | None) -> str:
        if len(cell) > longest:
            raise CellFault(f"It is longer than {longest} letters.")
        if any(unicodedata.category(letter) == "Cc" for letter in cell if letter not in "\r\n\t"):
            raise CellFault("It holds a sign that cannot be printed. Write it anew.")
        return cell

    return read


def yes_no(cell: str, _order: DayOrder | None) -> bool:
    word = cell.lower()
    if word not in YES | NO:
        raise CellFault(f"“{cell}” is neither yes nor no.")
    return word in YES


def number(places: int, *, least: Decimal | int, most: Decimal | int, unit: str = "") -> Read:
    """A number between two limits, with its unit behind it or not."""

    def read(cell: str, _order: DayOrder | None) -> Decimal | None:
        if not cell:
            return None
        try:
            exact = parse_number(cell.removesuffix(unit).rstrip() if unit else cell)
        except RuleError as error:
            raise CellFault(str(error)) from error
        if not least <= exact <= most:
            raise CellFault(f"It must be from {least} to {most}.")
        rounded = round(Decimal(exact.numerator) / exact.denominator, places)
        if rounded != exact:
            raise CellFault(f"Give at most {places} decimal places.")
        return rounded

    return read


def whole(least: int, most: int) -> Read:
    read_number = number(0, least=least, most=most)

    def read(cell: str, order: DayOrder | None) -> int | None:
        found = read_number(cell, order)
        return None if found is None else int(found)

    return read


def day(cell: str, order: DayOrder | None) -> date | None:
    if not cell:
        return None
    try:
        found = read_day(cell, order)
    except RuleError as error:
        raise CellFault(str(error)) from error
    if not FIRST_DAY <= found <= LAST_DAY:
        raise CellFault(f"“{cell}” is too far from today. Look at the year.")
    return found


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
