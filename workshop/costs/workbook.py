"""A period in money as a workbook whose sums stand in its cells as formulas."""

from io import BytesIO

from openpyxl import Workbook
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter

from workshop.costs.currencies import DIGITS
from workshop.costs.period import CLASSES, CLOSING, HEADS, Account, Period, statement_of

BOLD = Font(bold=True)
FIRST_ROW = 4


def account_workbook(account: Account, period: Period, currency: str) -> bytes:
    """One sheet: opening, each movement, closing as a sum; the last column adds up across."""
    book = Workbook()
    page = book.active
    assert page is not None  # noqa: S101  a new workbook has a sheet
    page.title = "Period"
    page["A1"] = f"{period.first.isoformat()} to {period.last.isoformat()}, in {currency}"
    if not account.is_whole:
        page["A2"] = f"At least so much: {len(account.without_price)} lots have no price yet."
    heads = ["", *(HEADS[one] for one in CLASSES), "All"]
    lines = [line for line in statement_of(account, currency) if line.key != CLOSING]
    for column, head in enumerate(heads, 1):
        page.cell(FIRST_ROW - 1, column, head).font = BOLD
        page.column_dimensions[get_column_letter(column)].width = 28 if column == 1 else 16
    last_column = get_column_letter(len(CLASSES) + 1)
    for number, line in enumerate(lines, FIRST_ROW):
        page.cell(number, 1, line.word)
        for column, one in enumerate(CLASSES, 2):
            page.cell(number, column, line.cells[one])
        page.cell(number, len(heads), f"=SUM(B{number}:{last_column}{number})")
    last = FIRST_ROW + len(lines)
    page.cell(last, 1, "Closing stock").font = BOLD
    for column in range(2, len(heads) + 1):
        letter = get_column_letter(column)
        page.cell(last, column, f"=SUM({letter}{FIRST_ROW}:{letter}{last - 1})").font = BOLD
    for row in page.iter_rows(min_row=FIRST_ROW, min_col=2):
        for cell in row:
            cell.number_format = "0" if not DIGITS[currency] else f"0.{'0' * DIGITS[currency]}"
    out = BytesIO()
    book.save(out)
    return out.getvalue()
