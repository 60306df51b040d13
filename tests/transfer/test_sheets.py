"""Spreadsheets are tried, taken in whole or not at all, and taken back while nothing used them."""

import io
import zipfile
from datetime import UTC, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from openpyxl import Workbook
from openpyxl.styles import Font

from tests import make
from tests.counts.build import place
from workshop.audit.all_checks import prove
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.costs.models import SalesPrice
from workshop.costs.services import enter_rates
from workshop.dispatch.models import Customer, Dispatch
from workshop.formulas import services as formulas
from workshop.formulas.models import Formula
from workshop.goods_in.lot_composition import compositions_or_why
from workshop.goods_in.models import OpeningLot, ReceiptLine, Supplier
from workshop.ledger.models import Item, Lot, Operation, Status
from workshop.packing.models import Product
from workshop.rules.transfer.written_days import DayOrder
from workshop.trace.lot.query import trace
from workshop.transfer.models import SheetImport
from workshop.transfer.services.take_back import take_back
from workshop.transfer.services.take_in import dry_run, remember_columns, take_in
from workshop.transfer.spreadsheets import read
from workshop.transfer.spreadsheets.read import Sheet
from workshop.transfer.spreadsheets.templates import workbook

pytestmark = pytest.mark.django_db
# In UTC, where an hour is an hour in the night that clocks change too.
LATER = (make.NOON + timedelta(hours=1)).astimezone(UTC)

MADE = make.day(-200)
MASTERS = [
    Sheet("Suppliers", [["Name"], ["Ostrey Oils"]]),
    Sheet("Customers", [["Name"], ["Ostrell Larder"], ["Tollen Baths"]]),
    Sheet(
        "Materials",
        [
            ["Name", "INCI name", "Density, g/mL", "Organic"],
            ["Sunflower oil", "Helianthus Annuus Seed Oil", "0,918", "yes"],
            ["Beeswax", "Cera Alba", "", "no"],
        ],
    ),
    Sheet("Packaging", [["Name", "Code"], ["Tin 60 mL", "TIN-60"]]),
    Sheet(
        "Formulas",
        [
            ["Formula", "Material", "Percent"],
            ["Plain balm", "Sunflower oil", "80 %"],
            ["Plain balm", "Beeswax", "20"],
        ],
    ),
    Sheet(
        "Products",
        [["Name", "Formula", "Container", "Fill"], ["Balm 60 g", "Plain balm", "TIN-60", "60 g"]],
    ),
]
STOCK_HEADS = ["Item", "Quantity", "Code on it", "Supplier", "Supplier lot", "Made on", "Status"]
STOCK_HEADS += ["Best before", "Sent to", "Sent", "Sent on"]
FIRST, SECOND = "Ostrell Larder", "Tollen Baths"
DAY, SENT_ON, UNTIL = (f"{one}" for one in (MADE, MADE + timedelta(days=9), make.day(300)))
STOCK = Sheet(
    "Opening stock",
    [
        STOCK_HEADS,
        ["Sunflower oil", "2 L", "", "Ostrey Oils", "77-1", DAY, "released", UNTIL],
        ["Plain balm", "3 kg", "PB bulk", "", "", DAY, "released"],
        ["Balm 60 g", "24", "PB 0417", "", "", DAY, "released", UNTIL, FIRST, "12", SENT_ON],
        ["Balm 60 g", "", "PB 0417", "", "", DAY, "released", UNTIL, SECOND, "6", SENT_ON],
    ],
)  # fmt: skip


def taken(*sheets: Sheet, at: Any = make.NOON, **values: Any) -> SheetImport | None:
    owner = values.pop("by", None) or make.user(Role.OWNER)
    return take_in(list(sheets), file_name="ours.xlsx", digest="0" * 64, by=owner, at=at, **values)


def tried(*sheets: Sheet, **values: Any) -> Any:
    return dry_run(list(sheets), by=make.user(Role.OWNER), at=make.NOON, **values)


def finished() -> Lot:
    return Lot.objects.select_related("item", "origin").get(opening__old_code="PB 0417")


def test_dry_run_tells_what_would_be_and_writes_nothing() -> None:
    outcome = tried(*MASTERS, STOCK)

    assert [(sheet.name, sheet.faults) for sheet in outcome.sheets if sheet.faults] == []
    assert (outcome.new, outcome.changed, outcome.same) == (11, 0, 0)
    assert (Item.objects.count(), Supplier.objects.count(), Operation.objects.count()) == (0, 0, 0)


def test_everything_is_taken_in_by_name_and_the_book_stays_sound() -> None:
    taken(*MASTERS, STOCK)

    formula = Formula.objects.get()
    shares = list(formula.versions.get().lines.values_list("item__name", "share"))
    assert dict(shares) == {"Sunflower oil": Decimal(80), "Beeswax": Decimal(20)}
    assert Product.objects.get().bulk == formula.item
    oil = ReceiptLine.objects.get()
    assert (oil.supplier_lot, oil.posting.quantity) == ("77-1", Decimal(1836))
    assert Lot.objects.with_on_hand().get(pk=finished().pk).on_hand == 24
    sent = Dispatch.objects.order_by("pk").values_list("customer__name", flat=True)
    assert list(sent) == ["Ostrell Larder", "Tollen Baths"]
    assert [one for one in prove() if not one.is_sound] == []


def test_stock_is_put_where_its_sheet_says_and_an_unknown_place_is_named() -> None:
    heads = ["Item", "Quantity", "Code on it", "Made on", "Place"]
    sheet = Sheet("Opening stock", [heads, ["Plain balm", "3 kg", "PB 1", DAY, "Melts waiting"]])
    [refused] = [one for one in tried(*MASTERS, sheet).sheets if one.faults]
    assert "There is no place “Melts waiting” in use yet." in str(refused.faults)

    shelf = place("Melts waiting")
    taken(*MASTERS, sheet)

    lot = Lot.objects.get(opening__old_code="PB 1")
    assert [row.place for row in lot.placings.all()] == [shelf]


def test_same_file_twice_writes_nothing() -> None:
    taken(*MASTERS, STOCK)
    before = (Operation.objects.count(), Item.history.count(), Supplier.history.count())

    again = taken(*MASTERS, STOCK, at=LATER)

    assert again is None
    assert (Operation.objects.count(), Item.history.count(), Supplier.history.count()) == before


def test_trace_and_composition_stop_at_the_time_before_the_book() -> None:
    taken(*MASTERS, STOCK)
    lot = finished()
    found = trace(lot, on=make.DAY)

    assert found.before_the_book == [lot]
    assert (found.bought, found.made_here, found.customers) == ([], [], 2)
    held = found.balance
    assert [held.came_in, held.sent, held.unaccounted] == [Decimal(42), Decimal(18), Decimal(0)]
    assert isinstance(compositions_or_why([lot])[lot.pk], ActionRefused)


def test_pages_say_where_the_book_begins_and_old_codes_are_found(signed_in: Any) -> None:
    taken(*MASTERS, STOCK)
    client: Client = signed_in(Role.OWNER)
    lot = finished()

    scanned = client.get(reverse("front:scan"), {"q": "pb 0417"})
    page = client.get(reverse("trace:lot", args=[lot.code])).content.decode()
    recall = client.get(reverse("aftersales:new-recall"), {"lot": lot.code})

    assert scanned["Location"] == reverse("trace:lot", args=[lot.code])
    assert "Here the book begins" in page
    assert "Ostrell Larder" in page
    assert recall.status_code == 200


def test_stock_is_taken_back_while_nothing_used_it() -> None:
    taken(*MASTERS)
    owner = make.user(Role.OWNER)
    run = taken(STOCK, at=LATER, by=owner)
    assert run is not None

    take_back(run, by=owner, at=LATER, reason="The wrong shelf")

    assert set(OpeningLot.objects.values_list("lot__status", flat=True)) == {Status.REJECTED}
    assert not Lot.objects.in_stock().exists()
    assert [one for one in prove() if not one.is_sound] == []
    with pytest.raises(ActionRefused, match="taken back before"):
        take_back(run, by=owner, at=LATER, reason="Again")
    assert taken(STOCK, at=LATER + timedelta(hours=1)) is not None


def test_new_entries_go_with_their_file_until_one_is_used() -> None:
    owner = make.user(Role.OWNER)
    first = taken(*MASTERS, by=owner)
    assert first is not None

    take_back(first, by=owner, at=LATER, reason="Old prices")
    assert not Item.objects.exists()
    assert not Customer.objects.exists()
    assert [one for one in prove() if not one.is_sound] == []

    second = taken(*MASTERS, at=LATER + timedelta(hours=1), by=owner)
    taken(STOCK, at=LATER + timedelta(hours=2), by=owner)
    assert second is not None
    with pytest.raises(ActionRefused, match="used since"):
        take_back(second, by=owner, at=LATER + timedelta(hours=3), reason="Again")
    assert Item.objects.count() == 5


FAULTS = [
    ("Materials", ["Name", "INCI name"], ["Shea", ""], "INCI name", "It is empty."),
    (
        "Materials",
        ["Name", "INCI name", "CAS"],
        ["Shea", "Shea Butter", "8001-25-1"],
        "CAS",
        "last digit",
    ),
    (
        "Materials",
        ["Name", "INCI name", "Density"],
        ["Shea", "Shea Butter", "1,234"],
        "Density, g/mL",
        "1.234 or 1234",
    ),
    (
        "Certificates",
        ["Supplier", "Certifier", "Number", "Valid from", "Valid to"],
        ["Nobody", "Body", "7", "2026-01-01", "2026-02-30"],
        "Valid to",
        "not a day",
    ),
    (
        "Formulas",
        ["Formula", "Material", "Percent"],
        ["Balm", "Moonlight", "80"],
        "Material",
        "no material or bulk “Moonlight” yet",
    ),
    (
        "Opening stock",
        ["Item", "Made on", "Quantity"],
        ["Moonlight", "2026-01-01", "1"],
        "Item",
        "no item “Moonlight” yet",
    ),
]


@pytest.mark.parametrize(("name", "heads", "row", "column", "sentence"), FAULTS)
def test_fault_stands_beside_its_cell(
    name: str, heads: list[str], row: list[str], column: str, sentence: str
) -> None:
    [sheet] = tried(Sheet(name, [heads, row])).sheets
    [fault] = sheet.faults

    assert (fault.row, fault.column) == (2, column)
    assert sentence in fault.sentence


def test_one_fault_keeps_everything_out() -> None:
    spoilt = Sheet("Suppliers", [["Name", "E-mail"], ["Ostrey Oils", "a@b.example"], ["", "x"]])

    with pytest.raises(ActionRefused, match="nothing was written"):
        taken(*MASTERS[1:], spoilt)

    assert not Item.objects.exists()
    assert not Supplier.objects.exists()


def test_days_that_can_be_two_are_asked_about_once() -> None:
    taken(*MASTERS)
    row = ["Balm 60 g", "5", "PB 1", "", "", "3/4/2024", "released"]
    sheet = Sheet("Opening stock", [STOCK_HEADS, row])

    asked = tried(sheet)
    taken(sheet, order=DayOrder.DAY_FIRST, at=LATER)
    shown = Sheet("Opening stock", [STOCK_HEADS, row, [*row[:2], "PB 2", "", "", "25/4/2024", ""]])

    assert asked.asks_for_order
    assert not tried(shown).asks_for_order
    assert f"{Lot.objects.get(opening__old_code='PB 1').made_on}" == "2024-04-03"


def test_headings_of_ones_own_are_named_once_and_remembered() -> None:
    own = Sheet("Lieferanten", [["Name", "Ansprechpartner", "Adresse"], ["Ostrey", "Mara", "Quay"]])
    named = Sheet("Suppliers", own.rows)
    owner = make.user(Role.OWNER)
    strange = tried(named).sheets[0].strange

    remember_columns(
        {("suppliers", "ansprechpartner"): "contact", ("suppliers", "adresse"): ""},
        by=owner,
        at=make.NOON,
    )
    taken(named)

    assert strange == ["Ansprechpartner", "Adresse"]
    assert tried(named).sheets[0].strange == []
    assert (Supplier.objects.get().contact, Supplier.objects.get().address) == ("Mara", "")


def test_workbook_to_fill_in_is_taken_in_as_it_is() -> None:
    euros()  # prices are in the currency of the book
    digest = read.keep(io.BytesIO(workbook()))
    outcome = tried(*read.sheets(digest))

    assert [fault for sheet in outcome.sheets for fault in sheet.faults] == []
    assert all(sheet.kind and sheet.kind.title == sheet.name for sheet in outcome.sheets)
    assert outcome.is_ready


# ---- Files that somebody made to harm, or by mistake ---------------------------------------------


def _workbook(*rows: list[Any], merge: str = "") -> bytes:
    book, out = Workbook(), io.BytesIO()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Suppliers"
    for row in rows:
        sheet.append(row)
    if merge:
        sheet.merge_cells(merge)
    book.save(out)
    return out.getvalue()


def _bomb() -> bytes:
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(_workbook(["Name"]))) as whole,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as spoilt,
    ):
        for name in whole.namelist():
            large = b" " * 210_000_000 if name.endswith("sheet1.xml") else whole.read(name)
            spoilt.writestr(name, large)
    return out.getvalue()


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "nothing in the file"),
        (b"PK\x03\x04 no workbook at all", "cannot be read"),
        (b"\xd0\xcf\x11\xe0" + b"\x00" * 99, "old or a locked workbook"),
        (b"a,b\x00c", "no text"),
        (_workbook(), "nothing in the file"),
    ],
)
def test_file_that_is_no_sheet_gets_a_sentence(content: bytes, sentence: str) -> None:
    digest = read.keep(io.BytesIO(content))
    with pytest.raises(ActionRefused, match=sentence):
        read.sheets(digest)


def test_file_that_unpacks_to_far_more_gets_a_sentence() -> None:
    digest = read.keep(io.BytesIO(_bomb()))
    with pytest.raises(ActionRefused, match="far more memory"):
        read.sheets(digest)


@pytest.mark.parametrize(
    "content",
    [
        "Name;Address\nBjörk & Søn;“Kai”\n".encode("utf-16"),
        "Name;Address\nBjörk & Søn;“Kai”\n".encode("cp1252"),
        '\ufeffName,Address\r\n"Björk & Søn",“Kai”\r\n'.encode(),
        "Name\tAddress\nBjörk & Søn\t“Kai”".encode(),
    ],
)
def test_any_usual_encoding_and_mark_is_read(content: bytes) -> None:
    [sheet] = read.sheets(read.keep(io.BytesIO(content)))

    assert sheet.rows == [["Name", "Address"], ["Björk & Søn", "“Kai”"]]


@pytest.mark.parametrize("kind", ["csv", "csv of marks", "xlsx", "xlsx of styled cells"])
@pytest.mark.parametrize("has_more", [False, True], ids=["nothing more", "something more"])
def test_million_empty_rows_are_passed_over_and_hide_nothing(kind: str, *, has_more: bool) -> None:
    [sheet] = read.sheets(read.keep(io.BytesIO(_far(kind, below=0 if has_more else None))))
    digest = read.keep(io.BytesIO(_far(kind, below=1_000_000 if has_more else None)))

    if has_more:
        assert sheet.rows == [["Name", "Address"], ["Ostrey"]]
        with pytest.raises(ActionRefused, match="comes after more than 500 empty rows"):
            read.sheets(digest)
    else:
        assert [one.rows for one in read.sheets(digest)] == [[["Name", "Address"]]]


def _far(kind: str, *, below: int | None) -> bytes:
    """Headings, and a supplier so many empty rows below; or none, below a million."""
    rows = 1_000_000 if below is None else below
    if kind.startswith("csv"):
        empty = b",,,\n" if "marks" in kind else b"\n"
        return b"Name,Address\n" + empty * rows + (b"" if below is None else b"Ostrey,\n")
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["Name", "Address"])
    if "styled" in kind:  # a few thousand, as a program leaves them; a million take ten seconds
        for row in range(2, min(rows, 5_000) + 2):
            sheet.cell(row, 1).font = Font(bold=True)
    if below is not None:
        sheet.cell(2 + rows, 1, "Ostrey")
    written = io.BytesIO()
    book.save(written)
    return written.getvalue()


def test_formulas_merged_cells_and_empty_rows_do_no_harm() -> None:
    content = _workbook(
        ["Name", "Address"], ["=1+1", "x"], ["Ostrey", "a"], *([[None]] * 300), ["Tolm", "b"],
        merge="A3:A4",
    )  # fmt: skip
    [sheet] = read.sheets(read.keep(io.BytesIO(content)))
    [outcome] = tried(sheet).sheets

    [fault] = outcome.faults
    assert (fault.row, fault.cell) == (2, "=1+1")
    assert "a formula and not what that comes to" in fault.sentence
    assert outcome.count("new") == 2


STEPS = Sheet(
    "Steps of formulas",
    [
        ["Formula", "Step", "From, °C", "To, °C", "Minutes"],
        ["Plain balm", "Melt together, stir", "65", "80", "20"],
        ["Plain balm", "Pour", "60", "", ""],
    ],
)
PRICES = Sheet(
    "Sales prices",
    [["Product", "Sold to", "Price of one unit", "From"], ["Balm 60 g", FIRST, "7,50", DAY]],
)


def euros() -> None:
    enter_rates(
        from_on=make.day(-400),
        currency="EUR",
        labour_per_hour=Decimal(20),
        overhead_percent=Decimal(0),
        by=make.user(Role.OWNER),
        at=make.NOON,
        token="rates",
    )


def test_steps_come_in_with_their_formula_and_stay_when_its_lines_change() -> None:
    taken(*MASTERS, STEPS)
    steps = Formula.objects.get().versions.get().steps
    told = list(steps.values_list("text", "from_c", "to_c", "minutes"))
    assert told == [("Melt together, stir", 65, 80, 20), ("Pour", 60, None, None)]

    assert taken(*MASTERS, STEPS, at=LATER) is None
    other = Sheet(
        "Formulas", [["Formula", "Material", "Percent"], ["Plain balm", "Beeswax", "100"]]
    )
    taken(other, at=LATER)
    assert steps.count() == 2


def test_steps_of_an_approved_formula_begin_a_new_version() -> None:
    taken(*MASTERS)
    first = Formula.objects.get().versions.get()
    formulas.approve(first, by=make.user(Role.OWNER), at=make.NOON)

    taken(STEPS, at=LATER)

    approved, draft = Formula.objects.get().versions.order_by("number")
    assert (approved.steps.count(), draft.steps.count(), draft.lines.count()) == (0, 2, 2)


def test_steps_of_a_formula_that_is_not_there_are_refused_beside_its_name() -> None:
    [sheet] = tried(STEPS).sheets

    [fault] = sheet.faults
    assert (fault.column, fault.cell) == ("Formula", "Plain balm")


def test_prices_are_added_from_their_day_on() -> None:
    euros()
    taken(*MASTERS, PRICES)
    assert str(SalesPrice.objects.get()) == f"Balm 60 g, {FIRST}: 7.5000"
    assert taken(PRICES, at=LATER) is None

    dearer = Sheet("Sales prices", [PRICES.rows[0], ["Balm 60 g", FIRST, "8", f"{make.day(0)}"]])
    taken(dearer, at=LATER)
    [holds] = SalesPrice.objects.on(make.DAY).values()
    assert holds.price == 8


def test_price_without_a_currency_says_what_is_missing() -> None:
    [fault] = [one for sheet in tried(*MASTERS, PRICES).sheets for one in sheet.faults]

    assert fault.sentence == "Choose the workshop's currency first."
