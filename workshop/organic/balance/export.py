"""A balance as a spreadsheet, with the sum in its cells as formulas, and as text with the same."""

import csv
from collections.abc import Iterable, Iterator
from datetime import date
from decimal import Decimal
from io import BytesIO, StringIO

from openpyxl import Workbook
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from workshop.core import formatting
from workshop.core.files.spreadsheets import RISKY
from workshop.organic.balance.overview import Row
from workshop.organic.balance.statement import ORDER, Statement


class Formula(str):
    """A formula of ours; any other text that begins like one stays text."""

    __slots__ = ()


Cell = str | Decimal | date | None
HEADS: list[Cell] = ["figure", "record", "day", "lot", "words", "note", "quantity", "unit"]
AT = get_column_letter(HEADS.index("quantity") + 1)
WIDTHS = (34, 16, 12, 12, 40, 60, 16, 8)
AVAILABLE = ("opening", "taken_over", "received", "made")
SIGNS = {"": "+", "+": "+", "−": "-", "±": "+"}


def statement_rows(one: Statement) -> Iterator[list[Cell]]:
    """The statement line by line: the records of a figure, their sum, and the sum of the figures.

    A cell that begins with "=" is a formula over the cells of column `AT`; the first row is row 1.
    """
    unit = one.item.unit
    yield ["Balance of mass", None, None, None, f"{one.item.code} {one.item}", _asked(one)]
    yield HEADS
    line, figures = 3, []
    for figure in one.figures:
        first = line
        for entry in figure.entries:
            words = (
                f"{entry.words} (open at the end of the period)" if entry.is_open else entry.words
            )
            lot = entry.lot.shown_code if entry.lot else None
            yield [
                figure.heading, entry.reference, entry.day, lot, words, entry.note,
                entry.quantity, unit,
            ]  # fmt: skip
            line += 1
        added = Formula(f"=SUM({AT}{first}:{AT}{line - 1})")
        total: Cell = added if line > first else Decimal(0)
        yield [figure.heading, "total", None, None, None, None, total, unit]
        figures.append((SIGNS[figure.sign], line, figure.key))
        line += 1
    yield ["D. Closing stock", "by the sum", None, None, None, None, _sum(figures), unit]
    counted = next(at for _, at, key in figures if key == "counted")
    yield [
        "Unexplained",
        "by stock counts",
        None,
        None,
        None,
        None,
        Formula(f"=-{AT}{counted}"),
        unit,
    ]
    there = [(sign, at, key) for sign, at, key in figures if key in AVAILABLE]
    whole = _sum(there).removeprefix("=")
    share = Formula(f"=IF({whole}=0,0,ROUND(100*{AT}{line + 1}/({whole}),3))")
    yield ["Unexplained of A + B", None, None, None, None, one.verdict, share, "%"]
    if one.per_unit_g:
        yield from _in_grams(one, [*figures, ("=", line, "closing")])


def _in_grams(one: Statement, figures: Iterable[tuple[str, int, str]]) -> Iterator[list[Cell]]:
    """The same figures times the net weight of the label."""
    headings = {key: heading for key, _, heading in ORDER} | {"closing": "D. Closing stock"}
    for _, at, key in figures:
        grams = Formula(f"={AT}{at}*{one.per_unit_g:f}")
        yield [f"{headings[key]}, in grams", "by its label", None, None, None, None, grams, "g"]


def _sum(figures: Iterable[tuple[str, int, str]]) -> Formula:
    return Formula("=" + "".join(f"{sign}{AT}{at}" for sign, at, _ in figures).removeprefix("+"))


def _asked(one: Statement) -> str:
    days = f"{formatting.day(one.period.first)} to {formatting.day(one.period.last)}"
    lots = {None: "", True: ", organic lots only", False: ", other lots only"}[one.is_organic]
    known = "today" if one.as_known_today else "on the last day"
    return f"{days}{lots}, as known {known}"


def workbook(one: Statement) -> bytes:
    return _book(one.item.code, statement_rows(one), WIDTHS)


OVERVIEW_HEADS: list[Cell] = [
    "item", "name", "opening", "before the book", "received", "made", "used", "sent", "returned",
    "written off", "shed", "counts", "closing", "unexplained", "% of A + B", "unit", "verdict",
]  # fmt: skip


def overview_rows(rows: Iterable[Row]) -> Iterator[list[Cell]]:
    """A line for each item; what is reckoned is a formula in its cell."""
    yield OVERVIEW_HEADS
    for at, row in enumerate(rows, 2):
        yield [
            row.item.code, row.item.name, row.opening, row.taken_over, row.received, row.made,
            row.used, row.sent, row.returned, row.written_off, row.shed, row.counted,
            Formula(f"=C{at}+D{at}+E{at}+F{at}-G{at}-H{at}+I{at}-J{at}-K{at}+L{at}"),
            Formula(f"=-L{at}"),
            Formula(f"=IF(SUM(C{at}:F{at})=0,0,ROUND(100*N{at}/SUM(C{at}:F{at}),3))"),
            row.unit, row.verdict,
        ]  # fmt: skip


def overview_workbook(rows: Iterable[Row]) -> bytes:
    return _book("Balances", overview_rows(rows), (12, 36, *[14] * 13, 6, 24))


def _book(title: str, rows: Iterable[list[Cell]], widths: Iterable[int]) -> bytes:
    book = Workbook()
    sheet = book.active
    assert isinstance(sheet, Worksheet)  # noqa: S101 -- for the type checker
    sheet.title = title
    for at, row in enumerate(rows, 1):
        is_head = row[0] in ("figure", "item") or row[1] in ("total", "by the sum")
        for place, value in enumerate(row, 1):
            cell = sheet.cell(at, place)
            if isinstance(value, str):
                value = type(value)(ILLEGAL_CHARACTERS_RE.sub("", value))
            cell.value = value
            if isinstance(value, str) and not isinstance(value, Formula):
                cell.data_type = "s"
            if is_head:
                cell.font = Font(bold=True)
    for place, width in enumerate(widths, 1):
        sheet.column_dimensions[get_column_letter(place)].width = width
    out = BytesIO()
    book.save(out)
    return out.getvalue()


def as_csv(rows: Iterable[list[Cell]]) -> str:
    """The same rows as text. Others' words that begin like a formula get an apostrophe."""
    out = StringIO()
    writer = csv.writer(out)
    for row in rows:
        writer.writerow([_text(value) for value in row])
    return out.getvalue()


def _text(value: Cell) -> str:
    if value is None or isinstance(value, Formula):
        return value or ""
    if isinstance(value, str):
        return f"'{value}" if value.lstrip(" ").startswith(RISKY) else value
    return f"{value:f}" if isinstance(value, Decimal) else value.isoformat()
