"""What is handed over of a trace: report, workbook, key data; siblings; a figure's postings."""

from decimal import Decimal
from io import BytesIO
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from openpyxl import load_workbook
from pypdf import PdfReader
from pytest_django.asserts import assertContains

from tests import make
from tests.goods_in import build as goods_in
from tests.trace import build
from tests.trace.events import Story
from tests.trace.test_pages import chain, fan
from workshop.core.models import Role
from workshop.ledger.models import ItemKind, Lot
from workshop.trace.exports.workbook import KEY_HEADS
from workshop.trace.lot.balance_postings import FIGURES, postings_of, total_of
from workshop.trace.lot.query import trace
from workshop.trace.lot.related_lots import siblings_of

pytestmark = pytest.mark.django_db
Rows = list[dict[str, Any]]


@pytest.fixture
def inspector(client: Client) -> Client:
    client.force_login(make.user(Role.INSPECTOR))
    return client


def sheets(client: Client, name: str, lot: Lot) -> dict[str, Rows]:
    answer = client.get(reverse(name, args=[lot.code]))
    book = load_workbook(BytesIO(answer.content))
    found = {}
    for page in book.worksheets:
        heads, *rows = page.iter_rows(values_only=True)
        found[page.title] = [dict(zip(map(str, heads), row, strict=True)) for row in rows]
    return found


def text_of(content: bytes) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(content)).pages]


def test_report_has_code_and_page_number_on_each_page(inspector: Client) -> None:
    lot = fan(60)

    answer = inspector.get(reverse("trace:report", args=[lot.code]))

    pages = text_of(answer.content)
    assert answer["Content-Type"] == "application/pdf"
    assert len(pages) > 1
    for number, page in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in page
        assert str(lot) in page


def test_report_holds_picture_balance_customers_and_sources(inspector: Client) -> None:
    story = Story()

    answer = inspector.get(reverse("trace:report", args=[story.wax.code]))

    text = " ".join(text_of(answer.content))
    for words in (
        "Reconciliation",
        "Ostrell Larder",
        "Quillan Chemist",
        "Marl Ridge Apiary",
        "MR-0117",
        "has 4",  # the box of a customer in the picture
        "Taken from the book on",
    ):
        assert words in text


def test_key_data_has_a_row_for_every_lot_in_every_happening(inspector: Client) -> None:
    story = Story()

    found = sheets(inspector, "trace:key-data", story.jars)

    assert list(found) == ["Key data"]
    rows = found["Key data"]
    assert list(rows[0]) == KEY_HEADS
    told = [(row["what happened"], row["lot"], row["quantity"], row["unit"]) for row in rows]
    assert ("received", str(story.wax), 5000, "g") in told
    assert ("used in a batch", str(story.wax), 210.125, "g") in told
    assert ("packed", str(story.jars), 8, "each") in told
    assert ("shipped", str(story.jars), 5, "each") in told
    assert ("returned", str(story.jars), 1, "each") in told
    [packed] = [row for row in rows if row["what happened"] == "packed"]
    assert packed["made from lots"] == f"{story.salve}, {story.tins}"
    [received] = [row for row in rows if row["supplier lot"] == "MR-0117" and row["from or to"]]
    assert received["from or to"] == "Marl Ridge Apiary"


def test_workbook_holds_balance_trace_and_key_data(inspector: Client) -> None:
    story = Story()

    found = sheets(inspector, "trace:workbook", story.wax)

    assert list(found) == ["Balance", "Trace", "Key data"]
    balance = {row["figure"]: row["amount"] for row in found["Balance"]}
    held = trace(story.wax).balance
    assert balance["received or made"] == held.came_in
    assert balance["on hand"] == held.on_hand == Decimal("4789.875")
    assert balance["unaccounted"] == 0
    relations = {row["relation"] for row in found["Trace"]}
    assert relations == {"this lot", "made from it", "sent out"}


def test_workbook_keeps_text_that_looks_like_a_formula_as_text(inspector: Client) -> None:
    lot = make.lot(make.item(name="=1+1\x07"))

    answer = inspector.get(reverse("trace:workbook", args=[lot.code]))

    page = load_workbook(BytesIO(answer.content))["Trace"]
    [cell] = [cell for row in page.iter_rows() for cell in row if str(cell.value).startswith("=")]
    assert (cell.value, cell.data_type) == ("=1+1", "s")


@pytest.mark.parametrize("name", ["trace:workbook", "trace:key-data", "trace:events"])
def test_exports_take_the_same_queries_however_wide(inspector: Client, name: str) -> None:
    counts = set()
    for lot in (fan(2), fan(12)):
        with CaptureQueriesContext(connection) as caught:
            assert inspector.get(reverse(name, args=[lot.code])).status_code == 200
        counts.add(len(caught))
    assert len(counts) == 1


@pytest.mark.parametrize("wide_and_deep", [lambda: fan(25), lambda: chain(30)])
def test_the_answer_takes_four_queries(wide_and_deep: Any, django_assert_num_queries: Any) -> None:
    lot = wide_and_deep()

    with django_assert_num_queries(4):
        trace(lot)


def test_lots_that_share_sources_are_siblings_the_closest_first() -> None:
    oil, wax, herb, other = (make.lot() for _ in range(4))
    asked = build.batch((oil, 100), (wax, 50), (herb, 10), grams=150)
    near = build.batch((oil, 100), (wax, 50), grams=140)
    far = build.batch((oil, 10), (other, 50), grams=60)
    build.batch((other, 20), grams=20)

    found = siblings_of(trace(asked))

    assert [(row.lot, set(row.shared)) for row in found.rows] == [(near, {oil, wax}), (far, {oil})]
    assert (found.behind, found.operations) == (3, 2)


def test_lots_packed_of_the_same_bulk_share_all_that_is_behind_it() -> None:
    oil, wax = make.lot(), make.lot()
    salve = build.batch((oil, 100), (wax, 50), grams=150)
    asked, twin = build.packed((salve, 60), units=1), build.packed((salve, 60), units=1)

    [sibling] = siblings_of(trace(asked)).rows

    assert (sibling.lot, set(sibling.shared)) == (twin, {oil, wax, salve})


def test_lot_taken_by_mistake_makes_no_sibling() -> None:
    oil, wax = make.lot(), make.lot()
    asked = build.batch((oil, 100), grams=100)
    build.run("batch", [(wax, 10)], [(build.bulk(), 10)], by=make.user(), wrong=[(oil, 5)])  # type: ignore[arg-type]

    assert siblings_of(trace(asked)).rows == []


def test_siblings_take_the_same_queries_however_many(django_assert_num_queries: Any) -> None:
    for others in (1, 9):
        oil = make.lot()
        asked = build.batch((oil, 10), grams=10)
        for _ in range(others):
            build.batch((oil, 10), grams=10)
        found = trace(asked)
        with django_assert_num_queries(3):
            assert len(siblings_of(found).rows) == others


def test_bought_lot_names_our_other_lots_of_the_same_supplier_lot(inspector: Client) -> None:
    of, item = goods_in.supplier("Ostrey Oils"), goods_in.material()
    first = goods_in.line(item, of=of, supplier_lot="OO-9").lot
    again = goods_in.receipt(
        goods_in.arrived(item, supplier_lot="oo-9"), of=of, repeats_agreed=True
    ).lines.get()
    goods_in.line(item, of=goods_in.supplier(), supplier_lot="OO-9")

    found = siblings_of(trace(first))

    assert found.same_supplier_lot == [again]
    assertContains(inspector.get(reverse("trace:lot", args=[first.code])), str(again.lot))


def test_each_figure_of_the_balance_opens_its_postings(inspector: Client) -> None:
    story = Story()
    for lot in (story.wax, story.jars, story.salve):
        held = trace(lot).balance
        said = [held.came_in, held.used, held.sent, held.returned, held.discarded]
        said += [held.shed, held.counted]
        totals = [total_of(lot, figure) for figure in FIGURES.values()]
        assert totals == [*said, held.on_hand]
        for name, figure in FIGURES.items():
            address = reverse("trace:postings", args=[lot.code, name])
            assertContains(inspector.get(reverse("trace:lot", args=[lot.code])), address)
            rows = inspector.get(address).context["list"].page.object_list
            change = sum((row.quantity for row in rows), Decimal(0))
            assert (-change if figure.is_loss else change) == total_of(lot, figure)


def test_figure_shows_what_was_taken_back_too(inspector: Client) -> None:
    story = Story()

    used = postings_of(story.wax, FIGURES["used"])

    assert [row.quantity for row in used] == [-200, 200, Decimal("-210.125")]
    address = reverse("trace:postings", args=[story.wax.code, "used"])
    assertContains(inspector.get(address), "Read from the wrong line")


def test_unknown_figure_is_no_page(inspector: Client) -> None:
    lot = make.lot(make.item(ItemKind.PACKAGING))

    assert inspector.get(reverse("trace:postings", args=[lot.code, "lost"])).status_code == 404
    empty = inspector.get(reverse("trace:postings", args=[lot.code, "sent"]))
    assertContains(empty, "No posting: the figure is nothing.")
