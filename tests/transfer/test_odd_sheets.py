"""Spreadsheets as programs and people really leave them: read as they are meant, or refused."""

import io
import re
import zipfile
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from openpyxl import Workbook
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from tests.transfer.test_sheets import DAY, MASTERS, STOCK_HEADS, euros, taken, tried
from workshop.goods_in.models import ReceiptLine, Supplier
from workshop.ledger.models import Lot
from workshop.transfer.services.take_in import KINDS
from workshop.transfer.spreadsheets import sheet_reader
from workshop.transfer.spreadsheets.read import Sheet

HEADS = ["Name", "Contact"]


def rows_of(content: bytes) -> list[list[str]]:
    [sheet] = sheet_reader.sheets_of(content)
    rows: list[list[str]] = sheet["rows"]
    return rows


def workbook_of(fill: Callable[[Workbook], None]) -> bytes:
    book, out = Workbook(), io.BytesIO()
    fill(book)
    book.save(out)
    return out.getvalue()


def cells_of(*rows: list[Any], **formats: str) -> list[list[str]]:
    """What is read of a workbook with these rows; some cells have a number format."""

    def fill(book: Workbook) -> None:
        sheet: Any = book.active
        for row in rows:
            sheet.append(row)
        for place, form in formats.items():
            sheet[place].number_format = form

    return rows_of(workbook_of(fill))


# ---- CSV -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "rows"),
    [
        (b"Name;Contact\rShea;1,5 kg, 2,5 kg, 3\r", [HEADS, ["Shea", "1,5 kg, 2,5 kg, 3"]]),
        (b"sep=;\r\nName;Contact\r\nShea;a, b, c\r\n", [HEADS, ["Shea", "a, b, c"]]),
        ("sep=\t\nName\tContact\nShea\tx".encode("utf-16"), [HEADS, ["Shea", "x"]]),
        (b"Name|Contact\nShea|a, b\n", [HEADS, ["Shea", "a, b"]]),
        (b'Name,Contact\n5" jar,the "best"\n', [HEADS, ['5" jar', 'the "best"']]),
        (b'Name,Contact\n"5"" jar","a, b"\n', [HEADS, ['5" jar', "a, b"]]),
        (b'Name,Contact\nA,"4 Quay Lane\r\nOstrey"\n', [HEADS, ["A", "4 Quay Lane\r\nOstrey"]]),
    ],
    ids=["CR", "sep", "sep in UTF-16", "pipe", "loose marks", "doubled marks", "break in a cell"],
)
def test_csv_of_any_usual_make_is_read(content: bytes, rows: list[list[str]]) -> None:
    """RFC 4180 for marks and breaks; the line "sep=" and lines that end in CR, common practice."""
    assert rows_of(content) == rows


@pytest.mark.parametrize(
    "content",
    [
        b'Name,Contact\nShea,x\n"Old tin,x\nB,y\nC,z\n',
        b'Name,Contact\nShea,x\n"Large" tin,x\nB,y\n',
        b'Name,Contact\nShea,x\n"' + b"a,b\n" * 50_000,
    ],
    ids=["never closed", "letters behind it", "a long file behind it"],
)
def test_quotation_mark_that_would_swallow_rows_is_named_by_its_row(content: bytes) -> None:
    with pytest.raises(sheet_reader.Unfit, match="Row 3 cannot be read: a quotation mark"):
        sheet_reader.sheets_of(content)


# ---- XLSX ----------------------------------------------------------------------------------------


def test_percent_that_is_only_shown_is_a_percent() -> None:
    """A cell of 0.25 that is shown as 25 % holds 25 %; a sign in quotes only stands there."""
    rows = cells_of(
        ["a", "b"], [0.25, 0.1 + 0.2], [1, 12.5], [0.125, True],
        A2="0%", B2="0.00%", A3="0.0 %", B3='0.0"%"', A4="0.0\\%",
    )  # fmt: skip

    assert rows[1:] == [["25%", "30%"], ["100%", "12.5"], ["0.125", "yes"]]


def test_days_are_those_that_the_program_shows_in_either_calendar() -> None:
    """ECMA-376 counts days from 1900 or, where the workbook says so, from 1904."""

    def from_1904(book: Workbook) -> None:
        book.epoch = CALENDAR_MAC_1904
        sheet: Any = book.active
        sheet.append(["a", "b"])
        sheet.append(["x", date(2026, 3, 4)])

    assert rows_of(workbook_of(from_1904))[1] == ["x", "2026-03-04"]
    assert cells_of(["a", "b"], ["x", date(2026, 3, 4)])[1] == ["x", "2026-03-04"]


def test_number_keeps_its_worth() -> None:
    rows = cells_of(["a"], [0.1 + 0.2], [-3.5], [1e-7], [4006381333931], [1.5e13], [0])

    assert [row[0] for row in rows[1:]] == [
        "0.3", "-3.5", "0.0000001", "4006381333931", "15000000000000", "0",
    ]  # fmt: skip


def formula(book: Workbook) -> None:
    sheet: Any = book.active
    sheet.append(["a"])
    sheet.append(["=6*7"])


def test_formula_without_its_result_stands_as_it_is() -> None:
    """A program that only writes leaves no result; one that reckons does, and that is read."""
    content, reckoned = workbook_of(formula), io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(content)) as whole,
        zipfile.ZipFile(reckoned, "w") as other,
    ):
        for name in whole.namelist():
            part = re.sub(rb"<v ?/>|<v></v>", b"<v>42</v>", whole.read(name))
            other.writestr(name, part)

    assert rows_of(content)[1] == ["=6*7"]
    assert rows_of(reckoned.getvalue())[1] == ["42"]


def altered(before: bytes, after: bytes, *, head: bytes = b"") -> bytes:
    """A workbook whose sheet was written by another hand."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(workbook_of(formula))) as whole,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as other,
    ):
        for name in whole.namelist():
            part = whole.read(name)
            if name == "xl/worksheets/sheet1.xml":
                assert before in part
                part = head + part.replace(before, after)
            other.writestr(name, part)
    return out.getvalue()


def entities(*values: bytes) -> bytes:
    names = [b'<!ENTITY e%d "%s">' % (place, value) for place, value in enumerate(values)]
    return b"<!DOCTYPE worksheet [" + b"".join(names) + b"]>"


LAUGHS = [b"ha" * 5, *(b"&e%d;" % place * 10 for place in range(9))]


@pytest.mark.parametrize(
    "content",
    [
        altered(b"</sheetData>", b""),
        altered(b'r="A2"', b'r="A-5"'),
        altered(b"6*7", b"&e9;", head=entities(*LAUGHS)),
        altered(b"6*7", b"&e;", head=b'<!DOCTYPE a [<!ENTITY e SYSTEM "file:///etc/passwd">]>'),
        altered(b"<f>", b'<v>abc</v><f t="n">').replace(b"PK\x05\x06", b"PK\x05\x07"),
    ],
    ids=["cut in the middle", "no such cell", "a bomb of entities", "a file beside", "no index"],
)
def test_workbook_that_is_damaged_or_made_to_harm_gets_a_sentence(content: bytes) -> None:
    """Entities are XML 1.0, 4.1; they would grow to ten thousand million letters here."""
    with pytest.raises(sheet_reader.Unfit, match="may be damaged"):
        sheet_reader.sheets_of(content)


def test_sheets_and_columns_beyond_what_is_read_are_not_passed_over() -> None:
    def many(book: Workbook) -> None:
        for _ in range(sheet_reader.MOST_SHEETS):
            book.create_sheet()

    with pytest.raises(sheet_reader.Unfit, match="more than 30 sheets"):
        sheet_reader.sheets_of(workbook_of(many))
    with pytest.raises(sheet_reader.Unfit, match="more than 80 columns"):
        sheet_reader.sheets_of(b"," * 80 + b"Name\n")
    assert sheet_reader.sheets_of(b"Name" + b"," * 200 + b"\n")


# ---- What stands in the cells --------------------------------------------------------------------


FAR = "9" * 40
NAMED = {
    "material": "Sunflower oil", "bulk": "Plain balm", "container": "TIN-60", "items": "Beeswax",
    "product": "Balm 60 g", "supplier": "Ostrey Oils", "formula": "Plain balm",
    "sent_to": "Ostrell Larder",
}  # fmt: skip
NUMBERS = [
    (kind, column)
    for kind in KINDS
    for column in kind.columns
    if column.read.__qualname__.startswith(("number.", "whole."))
]


def row_with(kind: Any, key: str, value: str) -> Sheet:
    """A sheet of one sound row, but for one cell."""
    row = {
        column.key: NAMED.get(column.key, column.example) if column.example else ""
        for column in kind.columns
    }
    row |= {"formula": "Another balm"} if kind.key == "formulas" else {}
    row[key] = value
    heads = [column.heading for column in kind.columns]
    return Sheet(kind.title, [heads, [row[column.key] for column in kind.columns]])


@pytest.mark.django_db
def test_number_that_cannot_be_meant_is_refused_beside_its_cell() -> None:
    euros()
    taken(*MASTERS)
    let_through = []
    for kind, column in NUMBERS:
        for value in (FAR, "-99", "1E+30", "2147483648", "NaN", "½ kg"):
            [sheet] = tried(row_with(kind, column.key, value)).sheets
            if [fault.column for fault in sheet.faults] != [column.heading]:
                let_through.append((kind.title, column.heading, value, sheet.faults))

    assert len(NUMBERS) > 10
    assert let_through == []


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("cell", "sentence"),
    [
        ("#REF!", "an error of the spreadsheet program"),
        ("#N/A", "an error of the spreadsheet program"),
        ("=A1&B1", "a formula and not what that comes to"),
        ("Ost\x07rey", "a sign that cannot be printed"),
        ("x" * 121, "longer than 120 letters"),
    ],
)
def test_text_that_nobody_wrote_is_refused_beside_its_cell(cell: str, sentence: str) -> None:
    [fault] = tried(Sheet("Suppliers", [["Name"], [cell]])).sheets[0].faults

    assert (fault.row, fault.column, fault.cell) == (2, "Name", cell)
    assert sentence in fault.sentence


@pytest.mark.django_db
def test_name_is_one_line_and_an_address_as_many_as_it_has() -> None:
    taken(Sheet("Suppliers", [["Name", "Address"], ["Ostrey\n Oils ", "3 Quay\nOstrell"]]))

    kept = Supplier.objects.get()
    assert (kept.name, kept.address) == ("Ostrey Oils", "3 Quay\nOstrell")


@pytest.mark.django_db
@pytest.mark.parametrize("made", ["0026-01-01", "0001-01-01", "9999-12-31"])
def test_day_of_another_age_is_refused(made: str) -> None:
    taken(*MASTERS)
    sheet = Sheet("Opening stock", [STOCK_HEADS, ["Balm 60 g", "5", "PB 1", "", "", made]])
    [fault] = tried(sheet).sheets[0].faults

    assert fault.column == "Made or received on"
    assert "Look at the year" in fault.sentence


@pytest.mark.django_db
def test_what_was_sent_to_nobody_is_not_passed_over() -> None:
    taken(*MASTERS)
    row = ["Balm 60 g", "5", "PB 1", "", "", DAY, "released", "", "", "12", DAY]
    [fault] = tried(Sheet("Opening stock", [STOCK_HEADS, row])).sheets[0].faults
    nothing = [*row[:9], "0", ""]

    assert (fault.column, fault.sentence) == ("Sent to", "Say to whom it was sent.")
    assert tried(Sheet("Opening stock", [STOCK_HEADS, nothing])).is_ready


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("said", "grams"),
    [
        ("1,5 kg", "1500"),
        ("1.5 kg", "1500"),
        ("750", "750"),
        ("2 lb", "907.185"),  # NIST SP 811: 453.592 37 g to the pound
        ("8 oz", "226.796"),  # and 28.349 523 125 g to the ounce
        ("500 mL", "459"),  # of a density of 0.918 g/mL
        ("3 x 5 kg", "15000"),
    ],
)
def test_quantity_is_read_in_any_usual_unit_and_with_either_sign(said: str, grams: str) -> None:
    row = ["Sunflower oil", said, "", "Ostrey Oils", "77-1", DAY, "released"]
    taken(*MASTERS, Sheet("Opening stock", [STOCK_HEADS, row]))

    assert ReceiptLine.objects.get().posting.quantity == Decimal(grams)


@pytest.mark.django_db
@pytest.mark.parametrize(
    "made", ["2024-04-17", "17.04.2024", "17/4/2024", "4/17/2024", "17 Apr 2024"]
)
def test_day_is_read_in_any_order_that_leaves_no_doubt(made: str) -> None:
    row = ["Balm 60 g", "5", "PB 1", "", "", made, "released"]
    taken(*MASTERS, Sheet("Opening stock", [STOCK_HEADS, row]))

    assert Lot.objects.get(opening__old_code="PB 1").made_on == date(2024, 4, 17)
