"""Reads the cells of a spreadsheet; run by itself, with little memory and time.

A stranger may have made the file, and a few hundred kilobytes can unpack to a gigabyte. What is too
heavy must end this process and not the one that serves the book, so nothing of the framework is
imported here: a file comes in on standard input, and its sheets as JSON, or a sentence, go out.
"""

import csv
import io
import json
import resource
import sys
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
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
Rows = list[list[str]]


class Unfit(Exception):  # noqa: N818 -- reads as a sentence where it is raised
    """No spreadsheet that can be read; the text is a sentence for whoever brought it."""


def sheets_of(content: bytes) -> list[dict[str, Any]]:
    """Every sheet that has cells: its name, and its rows of text from the first to the last."""
    if content.startswith(b"PK"):
        found = list(_of_workbook(content))
    elif content.startswith(b"\xd0\xcf\x11\xe0"):
        raise Unfit("This is an old or a locked workbook. Save it as XLSX without a password.")
    else:
        found = [{"name": "", "rows": _tidy(_of_csv(content))}]
    found = [sheet for sheet in found if sheet["rows"]]
    if not found:
        raise Unfit("There is nothing in the file.")
    return found


def _of_workbook(content: bytes) -> Iterator[dict[str, Any]]:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            if sum(entry.file_size for entry in packed.infolist()) > MOST_UNPACKED:
                raise Unfit(TOO_HEAVY)
        book = openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=True)
    except Unfit:
        raise
    except MemoryError:
        raise
    except Exception as error:  # the library raises whatever its parts do
        raise Unfit("The workbook cannot be read; it may be damaged. Save it anew.") from error
    for sheet in book.worksheets[:MOST_SHEETS]:
        sheet.reset_dimensions()  # what the file says of its size may be anything
        yield {"name": sheet.title, "rows": _tidy(sheet.iter_rows(values_only=True))}


def _of_csv(content: bytes) -> Iterable[list[str]]:
    text = _decoded(content)
    if "\x00" in text:
        raise Unfit("This is no text. Save the sheet as CSV or XLSX.")
    first = text.lstrip().partition("\n")[0]
    mark = max(",;\t", key=first.count)
    csv.field_size_limit(LONGEST_CELL * 20)
    try:
        yield from csv.reader(io.StringIO(text, newline=""), delimiter=mark)
    except csv.Error as error:
        raise Unfit(f"The CSV file cannot be read: {error}.") from error


def _decoded(content: bytes) -> str:
    marks = {b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16", b"\xef\xbb\xbf": "utf-8-sig"}
    known = next((name for mark, name in marks.items() if content.startswith(mark)), None)
    for name in (known,) if known else ("utf-8", "cp1252"):
        try:
            return content.decode(name)
        except UnicodeDecodeError:
            continue
    raise Unfit("The letters of the file cannot be read. Save it as CSV in UTF-8, or as XLSX.")


def _tidy(rows: Iterable[Sequence[Any]]) -> Rows:
    """Rows of text without empty ones at the end, of which there may be any number.

    Something below a long stretch of empty rows is refused: it may be forgotten there, and may be
    half of the sheet.
    """
    kept: Rows = []
    empty = 0
    for number, row in enumerate(rows, 1):
        cells = [_text(cell) for cell in row[:MOST_COLUMNS]] if len(row) > row.count(None) else []
        while cells and not cells[-1]:
            cells.pop()
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


def _text(cell: Any) -> str:
    """A day as 2026-11-25, a number with a point and without an exponent, yes and no as words."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, datetime | date):
        return f"{cell:%Y-%m-%d}"
    if isinstance(cell, float):
        return f"{cell:.6f}".rstrip("0").rstrip(".")
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
