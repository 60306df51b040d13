"""Reads the cells of a spreadsheet; run by itself, with little memory and time.

A stranger may have made the file, and a few hundred kilobytes can unpack to a gigabyte. What is too
heavy must end this process and not the one that serves the book, so nothing of the framework is
imported here: a file comes in on standard input, and its sheets as JSON, or a sentence, go out.
"""

import csv
import io
import json
import re
import resource
import sys
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
from decimal import Decimal
from itertools import repeat
from typing import Any

import openpyxl

MEMORY_BYTES = 384 * 1024 * 1024
CPU_SECONDS = 60
REFUSED = 3
MOST_ROWS, MOST_COLUMNS, MOST_EMPTY, LONGEST_CELL = 20_000, 80, 500, 5_000
MOST_UNPACKED = 200 * 1024 * 1024
MOST_SHEETS = 30
TOO_HEAVY = (
    "The file takes far more memory or time to open than its size allows. Save the sheet as CSV, "
    "and take that in."
)
TOO_LONG = f"A sheet has more than {MOST_ROWS:,} rows. Divide it into several files."
FAR_BELOW = (
    f"Row {{:,}} comes after more than {MOST_EMPTY} empty rows. Take the empty rows out, or what "
    "stands below them."
)
TOO_WIDE = f"A sheet has more than {MOST_COLUMNS} columns. Take out those that are not to be read."
TOO_MANY = f"The workbook has more than {MOST_SHEETS} sheets. Divide it into several files."
QUOTES = (
    "Row {:,} cannot be read: a quotation mark in it is not closed, or stands within a cell that "
    "has some around it, or a cell is far too long. Correct that, or save the sheet as XLSX."
)
MARKS = ",;\t|"
# A first line with which spreadsheet programs are told what parts the cells; no row of the sheet.
TOLD_MARK = re.compile(r"sep=(.)\r?\n?", re.IGNORECASE)
FORMULA = re.compile(rb"<(?:\w+:)?f[ >/]")
BLOCK, OVERLAP = 1024 * 1024, 64
# Of a number format: what is shown as it stands, so that a percent sign in it is none.
LITERAL = re.compile(r'"[^"]*"|[\\_*].')
Rows = list[list[str]]


class Unfit(Exception):  # noqa: N818 -- reads as a sentence where it is raised
    """No spreadsheet that can be read; the text is a sentence for whoever brought it."""


def sheets_of(content: bytes) -> list[dict[str, Any]]:
    """Every sheet that has cells: its name, and its rows of text from the first to the last."""
    if content.startswith(b"PK"):
        found = _of_workbook(content)
    elif content.startswith(b"\xd0\xcf\x11\xe0"):
        raise Unfit("This is an old or a locked workbook. Save it as XLSX without a password.")
    else:
        found = [{"name": "", "rows": _tidy(_of_csv(content))}]
    found = [sheet for sheet in found if sheet["rows"]]
    if not found:
        raise Unfit("There is nothing in the file.")
    return found


def _of_workbook(content: bytes) -> list[dict[str, Any]]:
    try:
        return list(_sheets_in(content))
    except (Unfit, MemoryError):
        raise
    except Exception as error:  # the library raises whatever its parts do
        raise Unfit("The workbook cannot be read; it may be damaged. Save it again.") from error


def _sheets_in(content: bytes) -> Iterator[dict[str, Any]]:
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        if sum(entry.file_size for entry in packed.infolist()) > MOST_UNPACKED:
            raise Unfit(TOO_HEAVY)
        has_formulas = _has_formulas(packed)
    book = _opened(content)
    unreckoned = _opened(content, data_only=False) if has_formulas else None
    if len(book.worksheets) > MOST_SHEETS:
        raise Unfit(TOO_MANY)
    for sheet in book.worksheets:
        formulas = repeat(()) if unreckoned is None else _cells(unreckoned[sheet.title])
        rows = zip(_cells(sheet), formulas, strict=unreckoned is not None)
        yield {"name": sheet.title, "rows": _tidy(_texts(*row) for row in rows)}


def _opened(content: bytes, *, data_only: bool = True) -> Any:
    return openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=data_only)


def _has_formulas(packed: zipfile.ZipFile) -> bool:
    """Whether the workbook must be read twice: for what its formulas are, and what they come to."""
    for entry in packed.infolist():
        if not entry.filename.startswith("xl/worksheets/"):
            continue
        with packed.open(entry) as file:
            before = b""
            while block := file.read(BLOCK):
                if FORMULA.search(before + block):
                    return True
                before = block[-OVERLAP:]
    return False


def _cells(sheet: Any) -> Iterator[Sequence[Any]]:
    sheet.reset_dimensions()  # what the file says of its size may be anything
    return iter(sheet.iter_rows())


def _texts(cells: Sequence[Any], formulas: Sequence[Any]) -> list[str]:
    """A row; where a program wrote a formula and not what it comes to, the formula stands."""
    found = [_text_of(cell) for cell in cells]
    for place, cell in enumerate(formulas):
        if cell.data_type == "f" and not found[place]:
            found[place] = str(getattr(cell.value, "text", None) or cell.value or "=")
    return found


def _text_of(cell: Any) -> str:
    value = cell.value
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if is_number and "%" in LITERAL.sub("", cell.number_format or ""):
        return f"{(Decimal(f'{value:.15g}') * 100).normalize():f}%"
    return _text(value)


def _of_csv(content: bytes) -> Iterable[list[str]]:
    text = _decoded(content)
    if "\x00" in text:
        raise Unfit("This is no text. Save the sheet as CSV or XLSX.")
    told = TOLD_MARK.match(text)
    text = text[told.end() :] if told else text
    first = next(iter(text.lstrip().splitlines()), "")
    mark = told[1] if told else max(MARKS, key=first.count)
    csv.field_size_limit(LONGEST_CELL * 20)
    number = 1
    try:
        rows = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
        for row in rows:
            yield [_text(cell) for cell in row]
            number += 1
    except (csv.Error, TypeError) as error:
        raise Unfit(QUOTES.format(number)) from error


def _decoded(content: bytes) -> str:
    marks = {b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16", b"\xef\xbb\xbf": "utf-8-sig"}
    known = next((name for mark, name in marks.items() if content.startswith(mark)), None)
    for name in (known,) if known else ("utf-8", "cp1252"):
        try:
            return content.decode(name)
        except UnicodeDecodeError:
            continue
    raise Unfit("The letters of the file cannot be read. Save it as CSV in UTF-8, or as XLSX.")


def _tidy(rows: Iterable[list[str]]) -> Rows:
    """Rows of text without empty ones at the end, of which there may be any number.

    Something below a long stretch of empty rows is refused: it may be forgotten there, and may be
    half of the sheet.
    """
    kept: Rows = []
    empty = 0
    for number, cells in enumerate(map(_without_empty_end, rows), 1):
        empty = 0 if cells else empty + 1
        if empty > MOST_EMPTY:
            continue
        if number > len(kept) + 1:
            raise Unfit(FAR_BELOW.format(number))
        kept.append(cells)
        if len(kept) > MOST_ROWS + MOST_EMPTY:
            raise Unfit(TOO_LONG)
    while kept and not kept[-1]:
        kept.pop()
    if len(kept) > MOST_ROWS:
        raise Unfit(TOO_LONG)
    return kept


def _without_empty_end(cells: list[str]) -> list[str]:
    while cells and not cells[-1]:
        cells.pop()
    if len(cells) > MOST_COLUMNS:
        raise Unfit(TOO_WIDE)
    return cells


def _text(cell: Any) -> str:
    """A day as 2026-11-25, a number with a point and without an exponent, yes and no as words."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, datetime | date):
        return f"{cell:%Y-%m-%d}"
    if isinstance(cell, float):
        # Six places: beyond them stands what reckoning in twos leaves, or a figure as small.
        shown = f"{cell:.6f}" if not 0 < abs(cell) < 1e-6 else f"{Decimal(repr(cell)):f}"
        return shown.rstrip("0").rstrip(".")
    return " ".join(str(cell).replace("\x00", " ")[:LONGEST_CELL].split(" ")).strip()


def main() -> int:
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    resource.setrlimit(resource.RLIMIT_CPU, (CPU_SECONDS, CPU_SECONDS))
    resource.setrlimit(resource.RLIMIT_DATA, (MEMORY_BYTES, MEMORY_BYTES))
    try:
        found = json.dumps(sheets_of(sys.stdin.buffer.read()))
    except Unfit as error:
        sys.stdout.write(str(error))
        return REFUSED
    except MemoryError:
        sys.stdout.write(TOO_HEAVY)
        return REFUSED
    sys.stdout.write(found)
    return 0


if __name__ == "__main__":
    sys.exit(main())
