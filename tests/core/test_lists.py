"""The one list: narrowed, sorted, counted, turned over; its figures stand on the point."""

import csv
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from io import BytesIO
from typing import Any, cast

import pytest
from django.contrib.auth.models import AnonymousUser
from django.test import Client, RequestFactory
from django.urls import reverse
from openpyxl import load_workbook

from tests import make
from workshop.core.access import Request
from workshop.core.lists.columns import Amount, Column, Day
from workshop.core.lists.in_memory import read_rows
from workshop.core.lists.listing import Choice, Listing, Shown
from workshop.dispatch.lists import DISPATCHES
from workshop.ledger.lists import LOTS, STOCK
from workshop.ledger.models import Item, Lot, Status


def read(listing: Any, rows: Any, **asked: str) -> Shown:
    request = RequestFactory().get("/", asked)
    request.user = make.user()
    shown: Shown = listing.read(request, rows)
    return shown


def stock(**asked: str) -> Shown:
    return read(STOCK, Item.objects.with_on_hand(on=make.DAY), **asked)


def lots(**asked: str) -> Shown:
    return read(LOTS, Lot.objects.with_on_hand().select_related("item"), **asked)


def codes(shown: Shown) -> list[str]:
    return [row.code for row in shown.page]


@pytest.mark.django_db
def test_press_on_a_head_sorts_and_a_second_turns_it_round() -> None:
    few, many = make.item(name="Beeswax"), make.item(name="Argan oil")
    make.lot(few, on_hand=5)
    make.lot(many, on_hand=700)

    by_amount, turned = stock(sort="on-hand"), stock(sort="-on-hand")

    assert codes(stock()) == [many.code, few.code]  # by name
    assert codes(by_amount) == [few.code, many.code]
    assert codes(turned) == [many.code, few.code]
    sorted_heads = [head for head in by_amount.heads if head.sorted]
    assert [(head.sorted, head.address) for head in sorted_heads] == [
        ("ascending", "?sort=-on-hand")
    ]
    assert turned.order_words == "On hand, largest first"


@pytest.mark.django_db
@pytest.mark.parametrize("odd", ["-", "pk", "on_hand", "--on-hand", "'"])
def test_head_that_is_none_sorts_nothing(odd: str) -> None:
    make.item(name="Beeswax"), make.item(name="Argan oil")

    assert codes(stock(sort=odd)) == codes(stock())


@pytest.mark.django_db
def test_states_are_counted_within_what_was_searched_for() -> None:
    item = make.item()
    waiting, released = (
        make.lot(item, status=Status.QUARANTINE),
        make.lot(item, status=Status.RELEASED),
    )

    counted = {pick.key: number for pick, number, _ in lots().counts}

    assert counted == {"": 2, "waiting": 1, "released": 1, "stopped": 0}
    assert codes(lots(state="waiting")) == [waiting.code]
    assert codes(lots(state="released", q=released.code)) == [released.code]
    assert codes(lots(state="odd")) == codes(lots())


@pytest.mark.django_db
def test_days_are_counted_in_on_both_ends() -> None:
    item = make.item()
    for later in (90, 91, 92):
        make.lot(item, best_before=make.day(later))

    within = lots(**{"from": make.iso(91), "to": make.iso(92)})

    assert sorted(row.best_before for row in within.page) == [make.day(91), make.day(92)]
    for odd in ("2027-02-30", "9999-12-31", "0001-01-01", "x"):
        assert len(lots(**{"from": odd, "to": odd}).page) == 3


@pytest.mark.django_db
def test_fifty_a_page_with_a_count_and_what_was_asked_kept(client: Client) -> None:
    Item.objects.bulk_create(
        Item(code=f"X-{number}", name=f"Item {number:03}", kind="material", unit="g")
        for number in range(120)
    )
    client.force_login(make.user())

    page = client.get(reverse("ledger:home"), {"sort": "-code", "page": "2"})
    text = page.content.decode()

    assert "51 to 100 of 120" in text
    assert "?sort=-code&amp;page=3" in text


def test_points_of_a_column_stand_in_one_line() -> None:
    column = next(one for one in LOTS.columns if one.head == "On hand")
    rows = [Lot(item=Item(unit=unit), code="X") for unit in ("g", "g", "each")]
    for row, grams in zip(rows, ("1000", "0.25", "38"), strict=True):
        row.on_hand = Decimal(grams)

    first, second, third = column.texts(rows)

    assert first.rstrip("\u2007\u202f") == "1\u202f000.0"
    assert len(first.partition(".")[2]) == len(second.partition(".")[2])
    assert third == "38\u202f\u202f\u2007\u2007"


def test_log_has_its_days_as_headings_only_in_its_own_order() -> None:
    heads = [column.head for column in read_no_rows().columns]
    sorted_heads = [column.head for column in read_no_rows(sort="customer").columns]

    assert "Sent on" not in heads
    assert "Sent on" in sorted_heads


def read_no_rows(**asked: str) -> Shown:
    request: Any = RequestFactory().get("/", asked)
    request.user = None
    return DISPATCHES.read(request, Item.objects.none())


@pytest.mark.django_db
def test_list_is_saved_as_it_is_shown_with_every_row_and_nothing_that_runs(client: Client) -> None:
    Item.objects.bulk_create(
        Item(code=f"X-{number}", name=f"Item {number:03}", kind="material", unit="g")
        for number in range(60)
    )
    odd = make.item(name="=1+1", code="A-1")
    make.lot(odd, on_hand=Decimal("0.25"))
    client.force_login(make.user())
    address = reverse("ledger:home")

    sent: Any = client.get(address, {"as": "csv", "sort": "code"})
    lines = list(csv.reader(sent.getvalue().decode().splitlines()))
    narrowed: Any = client.get(address, {"as": "csv", "q": "A-1"})
    book = load_workbook(BytesIO(client.get(address, {"as": "xlsx", "q": "A-1"}).content))

    assert lines[0][:5] == ["Code", "Item", "Kind", "On hand", "On hand, unit"]
    assert lines[1][:5] == ["A-1", "'=1+1", "material", "0.250", "g"]
    assert len(lines) == 62
    assert len(narrowed.getvalue().decode().splitlines()) == 2
    assert [cell.value for cell in book.worksheets[0][2]][:5] == [
        "A-1",
        "=1+1",
        "material",
        0.25,
        "g",
    ]
    assert book.worksheets[0]["B2"].data_type == "s"


@dataclass(frozen=True)
class Drum:
    code: str
    filled_on: date | None
    grams: Decimal | None


DRUMS = Listing(
    columns=[
        Column("Code", lambda drum: drum.code, below=lambda drum: f"shelf of {drum.code[:1]}"),
        Day("Filled on", lambda drum: drum.filled_on),
        Amount("Holds", lambda drum: drum.grams),
    ],
    order=(),
    none="No drum.",
    days="filled_on",
    choices=[Choice("holds", "Holds", [("250", "a quarter"), ("9", "little")], field="grams")],
)
THREE = [
    Drum("b2", date(2026, 3, 2), Decimal(9)),
    Drum("C3", None, None),
    Drum("a1", date(2026, 3, 1), Decimal(250)),
]


def drums(**asked: str) -> Shown:
    request = RequestFactory().get("/drums/", asked)
    request.user = AnonymousUser()
    sums = Drum("All", None, Decimal(259))
    return read_rows(DRUMS, cast("Request", request), THREE, sums=sums)


@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        ({}, ["b2", "C3", "a1"]),
        ({"sort": "code"}, ["a1", "b2", "C3"]),
        ({"sort": "holds"}, ["b2", "a1", "C3"]),  # as numbers; what says nothing comes last
        ({"sort": "-holds"}, ["a1", "b2", "C3"]),
        ({"sort": "-filled-on"}, ["b2", "a1", "C3"]),
        ({"sort": "grams"}, ["b2", "C3", "a1"]),
        ({"q": "SHELF OF C"}, ["C3"]),
        ({"q": "250"}, ["a1"]),
        ({"holds": "9"}, ["b2"]),
        ({"from": "2026-03-02"}, ["b2"]),
        ({"to": "2026-03-01"}, ["a1"]),
        ({"from": "2026-03-01", "to": "2026-03-02"}, ["b2", "a1"]),
        ({"q": "owl"}, []),
    ],
)
def test_rows_in_memory_are_sorted_and_narrowed_as_others(
    asked: dict[str, str], expected: list[str]
) -> None:
    assert codes(drums(**asked)) == expected


def test_sums_of_rows_in_memory_stand_only_below_all_of_them() -> None:
    whole, part = drums(), drums(q="a1")

    assert [len(rows) for _, rows in whole.groups] == [3]
    assert whole.total is not None
    assert "259" in whole.total.cells[2][2]
    assert [len(rows) for _, rows in part.groups] == [1]
    assert part.total is None


def test_rows_in_memory_are_saved_in_the_order_shown() -> None:
    answer = drums(sort="-holds", **{"as": "csv"}).answer("core/_list.html")

    lines = list(csv.reader(answer.getvalue().decode().splitlines()))
    assert [line[0] for line in lines] == ["Code", "a1", "b2", "C3"]
    assert lines[1] == ["a1", "2026-03-01", "250", "g"]


def test_all_rows_again_keeps_their_order_and_what_the_page_is_about() -> None:
    assert drums(q="a", sort="code", by="lot", holds="9").whole == "?sort=code&by=lot"
