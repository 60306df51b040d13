"""A list as it is shown, as a file: every row that was asked for, in the order asked for."""

import csv
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any, cast

from django.http import HttpResponse, StreamingHttpResponse
from openpyxl import Workbook

from workshop.core.files.downloads import CSV, XLSX
from workshop.core.files.spreadsheets import fill, safe_text, written
from workshop.core.lists.columns import Amount, Column

MOST_IN_A_WORKBOOK = 50_000  # rows that are kept in memory until the widths of columns are known


class Echo:
    """What the CSV writer writes to: each line goes straight on to the answer."""

    def write(self, line: str) -> str:
        return line


def csv_file(name: str, columns: Sequence[Column], rows: Iterable[Any]) -> HttpResponse:
    """CSV (RFC 4180), sent as it is written, however long the list is."""
    writer = csv.writer(Echo())
    lines = (writer.writerow(line) for line in _lines(columns, rows))
    sent = StreamingHttpResponse(lines, content_type=CSV)
    return _named(cast("HttpResponse", sent), name, "csv")  # to a view it is one


def workbook_file(name: str, columns: Sequence[Column], rows: Iterable[Any]) -> HttpResponse:
    """A workbook with one sheet, whose amounts are numbers and whose days are days."""
    book = Workbook(write_only=True)
    fill(book, name[:31], _heads(columns), (_values(columns, row) for row in rows))
    return _named(HttpResponse(written(book), content_type=XLSX), name, "xlsx")


def _named(answer: HttpResponse, name: str, ending: str) -> HttpResponse:
    answer["Content-Disposition"] = f'attachment; filename="{name}.{ending}"'
    return answer


def _lines(columns: Sequence[Column], rows: Iterable[Any]) -> Iterator[list[str]]:
    yield _heads(columns)
    for row in rows:
        yield [_text(value) for value in _values(columns, row)]


def _heads(columns: Sequence[Column]) -> list[str]:
    heads = []
    for column in columns:
        heads.append(column.head)
        if isinstance(column, Amount):
            heads.append(f"{column.head}, unit")
    return heads


def _values(columns: Sequence[Column], row: Any) -> list[Any]:
    values = []
    for column in columns:
        value = column.plain(row)
        known = isinstance(value, Decimal | int | date | None)
        values.append(value if known else str(value))
        if isinstance(column, Amount):
            values.append("" if value is None else column.unit_word(row))
    return values


def _text(value: Any) -> str:
    """As CSV has it: a point before the decimals, days as 2026-11-25."""
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, datetime):
        return value.isoformat(sep=" ", timespec="minutes")
    if isinstance(value, date):
        return value.isoformat()
    return "" if value is None else safe_text(str(value))
