"""A workbook to fill in: a sheet for each kind, with its headings and one example."""

from io import BytesIO

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.comments import Comment
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter

from workshop.transfer.services.take_in import KINDS

REQUIRED, OPTIONAL = Font(bold=True), Font(bold=False)


def workbook() -> bytes:
    """A required column is headed in bold; what a column wants beyond its name is a comment."""
    book = Workbook(write_only=True)
    for kind in KINDS:
        sheet = book.create_sheet(kind.title)
        heads = []
        for place, column in enumerate(kind.columns, start=1):
            width = max(len(column.heading), len(column.example)) + 3
            sheet.column_dimensions[get_column_letter(place)].width = width
            head = WriteOnlyCell(sheet, column.heading)
            head.font = REQUIRED if column.required else OPTIONAL
            if column.help:
                head.comment = Comment(column.help, "Tarebook")
            heads.append(head)
        sheet.append(heads)
        sheet.append([column.example for column in kind.columns])
    out = BytesIO()
    book.save(out)
    return out.getvalue()
