"""Exports of odd names, notes and lots: no formula runs, nothing is lost, nothing is cut off."""

import csv
import json
from io import BytesIO, StringIO
from typing import Any

import jsonschema
import pytest
from django.test import Client
from django.urls import reverse
from openpyxl import load_workbook
from pypdf import PageObject, PdfReader
from pypdfium2 import PdfDocument

from tests import make
from tests.dispatch import build as dispatch
from tests.goods_in import build as goods_in
from tests.trace import build, rooms
from tests.trace.test_epcis import published_schema
from workshop.core.files.spreadsheets import RISKY, TELEPHONE, safe_text
from workshop.core.models import Role
from workshop.core.paper.css_layout import breakable
from workshop.goods_in.epcis.validation import faults_of, read_document
from workshop.goods_in.models import Supplier
from workshop.ledger import services as ledger
from workshop.ledger.models import Item, Lot, Status
from workshop.trace.diagram.positions import _cut

pytestmark = pytest.mark.django_db
ODD = [
    "=1+2",
    "+1 555 0100",
    "-2 & co",
    "@SUM(A1)",
    "\t=1+2",
    'say "balm", please',
    "two\nlines\r\nand more",
    "\U0001f33b\U0001f468\u200d\U0001f33e salve",
    "\u05de\u05e9\u05d7\u05d4 \u0645\u0631\u0647\u0645",
    "\u202egnihtemos",
    "W" * 120,
    "Long words " * 10,
    "<b>&amp;</b>",
    "\uff1dcmd|' /C calc'!A0",
    "' =1",
    "\u200b=1+2",
]
MARGIN_PT = 42  # 15 mm


def odd_lot() -> Lot:
    """A wax of an odd supplier, packed as an odd product and sent to a customer of each odd name.

    The fields hold what may be typed or imported, at any length that the table takes.
    """
    of = Supplier.objects.create(name=f"=HYPERLINK {'Apiary ' * 14}", contact='+"A", B')
    wax = goods_in.line(
        goods_in.material("@Wax " + "W" * 110), of=of, supplier_lot="-7/\u202e" + "9" * 50
    ).lot
    ledger.set_lot_status(wax, Status.RELEASED, by=make.user(), at=make.NOON, reason="Good.")
    salve = build.batch((wax, 900), grams=900, name="=Salve \U0001f33b " + "long " * 20)
    jars = build.packed((salve, 900), units=190)
    for number, odd in enumerate(ODD):
        shop = dispatch.customer(
            odd[:120], contact=odd[:120], telephone=odd[:40], address=f"{odd}\n{odd}"
        )
        dispatch.sent(
            (jars, number + 1), to=shop, customer_reference=odd[:60], by=make.user(), note=odd[:300]
        )
    found: Lot = wax
    return found


@pytest.fixture
def inspector(client: Client) -> Client:
    client.force_login(make.user(Role.INSPECTOR))
    return client


def test_table_runs_no_formula_and_gives_back_what_was_typed(inspector: Client) -> None:
    lot = odd_lot()

    answer = inspector.get(reverse("trace:csv", args=[lot.code]))

    text = answer.content.decode()
    heads, *rows = list(csv.reader(StringIO(text, newline=""), strict=True))
    assert {len(row) for row in rows} == {len(heads)}
    assert text.endswith("\r\n")
    cells = [cell for row in rows for cell in row]
    risky = [cell for cell in cells if cell.lstrip(" ").startswith(RISKY)]
    assert {cell for cell in risky if not TELEPHONE.fullmatch(cell)} == set()
    assert "+1 555 0100" in cells
    names = {dict(zip(heads, row, strict=True))["customer"] for row in rows} - {""}
    assert {name.removeprefix("'") for name in names} == {
        odd[:120].removeprefix("'") for odd in ODD
    }


@pytest.mark.parametrize(
    ("typed", "written"),
    [
        ("+1 555 0100", "+1 555 0100"),
        ("+1-555-0100", "+1 555 0100"),
        ("+44 (0)20 7946-0000", "+44 (0)20 7946 0000"),
        ("+43/1/555 01\u201300", "+43 1 555 01 00"),
        ("+15550100", "+15550100"),
        ("01 555 0100", "01 555 0100"),
    ],
)
def test_telephone_number_stays_one_that_can_be_called(typed: str, written: str) -> None:
    """Digits grouped by spaces, after ITU-T E.123 (from memory)."""
    assert safe_text(typed) == written


@pytest.mark.parametrize(
    "typed",
    [
        "+1", "+A1", "+1+2", "+1 555*2", "+SUM(1)", "+cmd|' /C calc'!A0", "+1 555 0100 x2",
        "+1,555", "+1:2 55555", "=1+2", "-1 555 0100", "@A1 55555", "\t+1 555 0100", " +1 555 0100",
        "\uff0b1 555 0100", "+\u0661 555 0100", "+1 555 0100\n=1", "+1 555;01 00",
    ],
)  # fmt: skip
def test_what_is_no_telephone_number_is_kept_from_running(typed: str) -> None:
    """The beginnings that OWASP's page on CSV injection names, and what could follow a plus."""
    assert safe_text(typed) == f"'{typed}"


@pytest.mark.parametrize("name", ["trace:workbook", "trace:key-data"])
def test_workbook_opens_again_with_every_text_as_text(inspector: Client, name: str) -> None:
    lot = odd_lot()

    book = load_workbook(BytesIO(inspector.get(reverse(name, args=[lot.code])).content))

    cells = [cell for page in book for row in page.iter_rows() for cell in row]
    assert {cell.data_type for cell in cells if isinstance(cell.value, str)} == {"s"}
    values = {str(cell.value).replace("_x000D_", "\r") for cell in cells}
    assert {odd[:120] for odd in ODD} - values == set()


def test_events_of_odd_names_are_sound(inspector: Client) -> None:
    lot = odd_lot()

    text = inspector.get(reverse("trace:events", args=[lot.code])).content.decode()

    assert faults_of(read_document(text)) == []
    told = [
        event.get("tarebook:partner", {}) for event in json.loads(text)["epcisBody"]["eventList"]
    ]
    assert {odd[:120] for odd in ODD} <= {partner.get("tarebook:name") for partner in told}


def test_events_of_odd_names_are_sound_by_the_published_schema(inspector: Client) -> None:
    judge = jsonschema.Draft7Validator(
        published_schema(), format_checker=jsonschema.FormatChecker()
    )
    lot = odd_lot()
    Item.objects.filter(pk=lot.item.pk).update(code="=Ö/7 %?#")

    text = inspector.get(reverse("trace:events", args=[lot.code])).content.decode()

    assert [error.message for error in judge.iter_errors(json.loads(text))] == []
    assert faults_of(read_document(text)) == []


@pytest.mark.parametrize("what", ["trace", "recall"])
def test_no_name_however_long_pushes_a_column_off_the_paper(client: Client, what: str) -> None:
    client.force_login(make.user(Role.OWNER))
    lot = odd_lot()
    address = reverse("trace:report", args=[lot.code])
    if what == "recall":
        recall = rooms.recall(lot, reason="W" * 100)
        address = reverse("aftersales:recall-report", args=[recall.reference])

    content = client.get(address).content
    pages = PdfReader(BytesIO(content)).pages

    ends = [max(starts_of_text(page)) - float(page.mediabox.width) for page in pages]
    assert [end for end in ends if end > -MARGIN_PT] == []
    # As a reader's eye has it: pypdf loses the digits beside letters of other scripts.
    # A line that begins in Hebrew is read from the right, and the code's letter comes last.
    text = " ".join(page.get_textpage().get_text_range() for page in PdfDocument(content))
    tails = [f"-{make.MONTH}-{number:02}" for number in range(1, 17)]
    assert [tail for tail in tails if f"D{tail}" not in text and f"{tail}D" not in text] == []


def starts_of_text(page: PageObject) -> list[float]:
    """How far from the left each piece of text begins."""
    found = [0.0]

    def note(text: str, cm: Any, tm: Any, *_: Any) -> None:
        if text.strip():
            found.append(cm[0] * tm[4] + cm[2] * tm[5] + cm[4])

    page.extract_text(visitor_text=note)
    return found


def test_very_long_word_may_go_on_in_the_next_line_and_no_other() -> None:
    html = f"<head><title>{'W' * 50}</title></head><body><p title='{'W' * 50}'>butyrospermum parkii"
    assert breakable(f"{html} {'W' * 50} a&amp;b</p>") == (
        f"{html} {'W' * 20}<wbr>{'W' * 20}<wbr>{'W' * 10} a&amp;b</p>"
    )


def test_picture_cuts_a_name_by_the_room_that_its_letters_take() -> None:
    assert _cut("Hand salve", 10) == "Hand salve"
    assert _cut("Hand salve, 60 g", 10) == "Hand salv…"
    assert _cut("\u77f3\u9e7c\u5de5\u623f\u77f3\u9e7c", 10) == "\u77f3\u9e7c\u5de5\u623f…"
    assert _cut("WWWWWW", 10) == "WWWW…"
