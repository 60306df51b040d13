"""Cells of spreadsheets that no program runs as a formula, in CSV and in workbooks."""

import re
from collections.abc import Iterable, Sequence
from io import BytesIO
from typing import Any

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter

WIDEST = 60
BOLD = Font(bold=True)
# A telephone number: no name, function or reference of a cell, so nothing that could be run.
TELEPHONE = re.compile(r"\+[0-9][0-9 ()./\u2010-\u2013-]{4,29}")
# Cells that a spreadsheet would run as a formula, by what they begin with (OWASP, "CSV Injection").
RISKY = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")


def safe_text(text: str) -> str:
    """Text that no spreadsheet runs as a formula.

    A telephone number stays one, for a mail merge or a call; with spaces, as ITU-T E.123 writes it,
    since a spreadsheet would subtract at its hyphens.
    """
    if TELEPHONE.fullmatch(text):
        return " ".join(re.sub(r"[./\u2010-\u2013-]", " ", text).split())
    return f"'{text}" if text.lstrip(" ").startswith(RISKY) else text


def fill(book: Workbook, title: str, heads: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    """One sheet; a book that is only written wants to know its widths before the first row."""
    page = book.create_sheet(title)
    kept = [[_plain(value) for value in row] for row in rows]
    for place, head in enumerate(heads, 1):
        values = (str(row[place - 1] or "") for row in kept)
        width = max(map(len, values), default=0)
        letter = get_column_letter(place)
        page.column_dimensions[letter].width = min(max(width, len(head)), WIDEST) + 2
    page.freeze_panes = "A2"
    bold = [WriteOnlyCell(page, head) for head in heads]
    for cell in bold:
        cell.font = BOLD
    page.append(bold)
    for row in kept:
        page.append([_cell(page, value) for value in row])
    page.auto_filter.ref = f"A1:{get_column_letter(len(heads))}{len(kept) + 1}"


def _plain(value: Any) -> Any:
    return ILLEGAL_CHARACTERS_RE.sub("", value) if isinstance(value, str) else value


def _cell(page: Any, value: Any) -> Any:
    """Text stays text, so that no program runs it as a formula or shows it as an error."""
    if not isinstance(value, str) or not value.startswith(("=", "#")):
        return value
    cell = WriteOnlyCell(page, value)
    cell.data_type = "s"
    return cell


def written(book: Workbook) -> bytes:
    out = BytesIO()
    book.save(out)
    return out.getvalue()
