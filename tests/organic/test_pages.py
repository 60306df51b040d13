"""Pages and files of a balance: the sum as on paper, its cells as formulas, figures that open."""

import csv
from datetime import timedelta
from decimal import Decimal
from io import BytesIO, StringIO
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from openpyxl import load_workbook

from tests import make
from tests.goods_in import build as goods
from tests.organic.test_balance import at, oil_of, used
from workshop.core.models import Role
from workshop.ledger import services as ledger
from workshop.ledger.models import Item

pytestmark = pytest.mark.django_db
PERIOD = {"first": make.iso(-70), "last": make.iso(-10)}


@pytest.fixture
def oil() -> Item:
    item = goods.material("=Olive oil")  # a name that a spreadsheet would run
    lot = oil_of(-100, item=item)
    oil_of(-60, 5_000, item=item)
    used(lot, 2_000, -90)
    used(lot, 3_000, -50)
    ledger.discard(lot, Decimal(40), at=at(-40), reason="Spilt", by=make.user(), token="d")
    ledger.count_lot(lot, Decimal(4_950), at=at(-30), reason="Count", by=make.user(), token="c")
    return item


@pytest.fixture
def inspector(client: Client) -> Client:
    client.force_login(make.user(Role.INSPECTOR))
    return client


def address(name: str, *args: Any, **query: str) -> str:
    asked = "&".join(f"{key}={value}" for key, value in (PERIOD | query).items())
    return f"{reverse(f'organic:{name}', args=args)}?{asked}"


def test_balance_reads_like_the_sum_on_paper(inspector: Client, oil: Item) -> None:
    page = inspector.get(address("balance", oil.code))
    text = page.content.decode()

    for heading in ("A. Opening stock", "B. Received", "Used", "Written off", "D. Closing stock"):
        assert heading in text
    assert page.context["one"].closing == Decimal("9950")
    assert page.context["one"].outgoing == Decimal("3050")
    assert page.context["one"].unexplained_percent == Decimal("0.077")
    assert "small shortage" in text


def reckoned(sheet: Any) -> dict[str, Decimal]:
    """What the cells come to, worked out here as a spreadsheet would: sums of column G, + and −."""
    column: dict[int, Decimal] = {}
    said: dict[str, Decimal] = {}
    for at_row, row in enumerate(sheet, 1):
        value = row[6] if len(row) > 6 else None
        if isinstance(value, str) and value.startswith("=SUM("):
            first, last = (int(end[1:]) for end in value[5:-1].split(":"))
            column[at_row] = sum((column[line] for line in range(first, last + 1)), Decimal(0))
        elif isinstance(value, str) and value.startswith("=") and "IF" not in value:
            terms = value[1:].replace("-", "+-").split("+")
            signs = [
                (-1 if term.startswith("-") else 1, term.lstrip("-")) for term in terms if term
            ]
            column[at_row] = sum((sign * column[int(t[1:])] for sign, t in signs), Decimal(0))
        elif value not in (None, "", "quantity") and "IF" not in str(value):
            column[at_row] = Decimal(str(value))
        if at_row in column:
            said[row[0]] = column[at_row]
    return said


@pytest.mark.parametrize("kind", ["xlsx", "csv"])
def test_cells_hold_the_formulas_and_come_to_the_balance(
    inspector: Client, oil: Item, kind: str
) -> None:
    got = inspector.get(address("balance-file", oil.code, kind)).content
    if kind == "xlsx":
        sheet = [[cell.value for cell in row] for row in load_workbook(BytesIO(got)).active.rows]  # type: ignore[union-attr]
        assert load_workbook(BytesIO(got)).active["E1"].data_type == "s"  # type: ignore[index]
    else:
        sheet = [list(row) for row in csv.reader(StringIO(got.decode()))]
    found = reckoned(sheet)

    assert found["A. Opening stock"] == 8000
    assert found["D. Closing stock"] == Decimal("9950")
    assert found["Unexplained"] == 10
    totals = [row[6] for row in sheet if len(row) > 6 and row[1] in ("total", "by the sum")]
    assert all(str(total).startswith("=") or Decimal(str(total)) == 0 for total in totals)


def test_paper_is_a_pdf(inspector: Client, oil: Item) -> None:
    assert inspector.get(address("balance-file", oil.code, "pdf")).content.startswith(b"%PDF")


@pytest.mark.parametrize(
    ("figure", "quantities"),
    [
        ("opening", [Decimal(10_000), Decimal(-2_000)]),
        ("received", [Decimal(5_000)]),
        ("used", [Decimal(-3_000)]),
        ("written_off", [Decimal(-40)]),
        ("sent", []),
    ],
)
def test_figure_opens_to_its_postings(
    inspector: Client, oil: Item, figure: str, quantities: list[Decimal]
) -> None:
    page = inspector.get(address("postings", oil.code, figure)).context["list"].page

    assert [posting.quantity for posting in page] == quantities


def test_overview_tells_every_organic_item_and_sold_beside_bought(
    inspector: Client, oil: Item
) -> None:
    oil_of(-60, 700, item=oil, organic_until=make.DAY)
    rows = inspector.get(address("home")).context["rows"]
    chain = inspector.get(address("chain")).context["chain"]

    assert [(row.item, row.received, row.verdict) for row in rows] == [(oil, 700, "adds up")]
    assert (chain.received, chain.sold, chain.holds) == (700_000, 0, True)
    assert inspector.get(address("overview-file", "csv", group="materials")).status_code == 200
    assert inspector.get(address("overview-file", "xlsx")).status_code == 200


def test_odd_questions_get_a_sentence_or_no_page(inspector: Client, oil: Item) -> None:
    page = inspector.get(address("balance", oil.code, first=make.iso(0), last=make.iso(-1)))
    odd = inspector.get(address("balance", oil.code, first="yesterday"))

    assert "The period ends before it begins." in page.content.decode()
    assert "not a day of the calendar" in odd.content.decode()
    assert inspector.get(address("postings", oil.code, "gifts")).status_code == 404
    assert inspector.get(address("balance-file", oil.code, "csv", first="9")).status_code == 404


def test_balance_takes_as_many_queries_for_one_record_as_for_many(
    inspector: Client, oil: Item
) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as found:
            inspector.get(address("balance", oil.code))
        return len(found)

    few = queries()
    lot = oil_of(-69, item=oil)
    for number in range(5):
        used(lot, 10, -60 + number)
    assert queries() == few
    assert timedelta(days=60) == make.day(-10) - make.day(-70)
