"""Units on their way to customers: told apart in a trace, and stopped first in a recall."""

import csv
from datetime import timedelta
from decimal import Decimal
from io import BytesIO, StringIO

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from openpyxl import load_workbook
from pypdf import PdfReader
from pytest_django.asserts import assertContains, assertNotContains

from tests import make
from tests.dispatch import build as dispatch
from tests.trace import build, rooms
from workshop.aftersales.recalls.scope import scope_of, scope_of_lot
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.dispatch import services
from workshop.dispatch.models import Customer, Dispatch
from workshop.dispatch.queries import on_its_way
from workshop.dispatch.services.delivery_confirmation import confirm_delivery
from workshop.packing.services.retained_samples import retain
from workshop.trace.lot.headline import headline
from workshop.trace.lot.query import trace

pytestmark = pytest.mark.django_db
DAY = make.DAY


class Parcels:
    """480 tins: 300 arrived, 18 on their way, 40 sent three weeks ago of which nobody heard."""

    def __init__(self) -> None:
        self.wax = make.lot(on_hand=30_000)
        self.salve = build.batch((self.wax, 28_800), grams=28_800)
        packed_on = DAY - timedelta(days=30)
        self.tins = build.packed((self.salve, 28_700), units=480, made_on=packed_on)
        self.shop = dispatch.customer("Ostrell Larder", telephone="+1 555 0100")
        self.spa = dispatch.customer("Tollen Baths", contact="Ivo Marn", telephone="+1 555 0101")
        self.fair = dispatch.customer("Harbour Fair", email="stall@fair.example")
        self.there = self.send(self.shop, 300, days_ago=3)
        confirm_delivery([self.there], arrived_on=DAY, by=make.user(), at=make.NOON)
        self.coming = self.send(self.spa, 18, days_ago=2)
        self.long_ago = self.send(self.fair, 40, days_ago=21)

    def send(self, to: Customer, units: int, *, days_ago: int) -> Dispatch:
        return dispatch.sent((self.tins, units), to=to, sent_on=DAY - timedelta(days=days_ago))


@pytest.fixture
def parcels(db: None) -> Parcels:
    return Parcels()


def test_trace_tells_what_is_on_hand_on_its_way_and_with_customers(parcels: Parcels) -> None:
    found = trace(parcels.tins, on=DAY)

    figures = (found.balance.on_hand, found.on_its_way, found.with_customers)
    assert [int(figure) for figure in figures] == [122, 18, 340]
    assert {one.customer: int(one.on_its_way) for one in found.sendings} == {
        parcels.fair: 0,
        parcels.shop: 0,
        parcels.spa: 18,
    }
    assert headline(found).endswith(
        "358 of 480 units are with 3 customers (18 still on the way), 122 on hand"
    )


def test_trace_of_a_bought_lot_tells_it_of_each_lot_made_of_it(parcels: Parcels) -> None:
    found = trace(parcels.wax, on=DAY)

    told = {made.lot: (made.on_its_way, made.with_customers) for made in found.products}
    assert told == {
        parcels.salve: (Decimal(0), Decimal(0)),
        parcels.tins: (Decimal(18), Decimal(340)),
    }
    assert sum(sending.on_its_way for sending in found.sendings) == 18


def test_trace_says_of_every_lot_what_dispatch_says(parcels: Parcels) -> None:
    for days in (-5, 0, 9, 12, 13, 40):
        on = DAY + timedelta(days=days)
        found = trace(parcels.wax, on=on)
        lots = {made.lot.pk: made.on_its_way for made in found.products if made.on_its_way}
        assert lots == on_its_way([parcels.tins.pk], on=on)


def test_what_came_back_in_part_has_arrived(parcels: Parcels) -> None:
    dispatch.back(parcels.coming, (parcels.tins, 3))

    found = trace(parcels.tins, on=DAY)

    figures = (found.on_its_way, found.with_customers, found.balance.returned)
    assert [int(figure) for figure in figures] == [0, 355, 3]


def test_samples_kept_back_are_part_of_what_is_on_hand(parcels: Parcels) -> None:
    retain(
        parcels.tins, Decimal(4), place="Shelf 9", by=make.user(), at=make.NOON, token=new_token()
    )

    found = trace(parcels.wax, on=DAY)

    assert [(int(made.balance.on_hand), int(made.retained)) for made in found.finished] == [
        (122, 4)
    ]
    assert trace(parcels.tins, on=DAY).retained == 4


def test_answer_takes_four_queries_however_deep_and_wide(parcels: Parcels) -> None:
    deep = make.lot()
    for _ in range(20):
        deep = build.batch((deep, 10), (make.lot(), 5), grams=14)
    for lot in (deep, parcels.wax, parcels.tins, make.lot()):
        with CaptureQueriesContext(connection) as seen:
            found = trace(lot)
            told = [source.who.said for source in (*found.bought, *found.made_here)]
            told += [made.who.said for made in found.products]
            told += [str(one.arrival) for one in found.bought if one.arrival]
        # What nothing was made from has nothing that could have been strained out.
        assert len(seen) == (4 if found.products or found.made_here else 3)


def test_table_and_workbook_tell_what_is_on_its_way(client: Client, parcels: Parcels) -> None:
    client.force_login(make.user(Role.INSPECTOR))
    today = timezone.localdate()
    fresh = services.dispatch(
        parcels.spa,
        [(parcels.tins, Decimal(7))],
        sent_on=today,
        by=make.user(Role.PACKER, first_name="Pia"),
        at=timezone.now(),
        token=new_token(),
    )
    text = client.get(reverse("trace:csv", args=[parcels.tins.code])).content.decode()
    rows = [row for row in csv.DictReader(StringIO(text)) if row["dispatch"] == str(fresh)]
    book = load_workbook(
        BytesIO(client.get(reverse("trace:workbook", args=[parcels.tins.code])).content)
    )
    figures = {row[0]: row[1] for row in book["Balance"].iter_rows(values_only=True)}

    assert [
        (row["sent by"], row["on its way"], row["with customers"], row["customer telephone"])
        for row in rows
    ] == [("Pia", "7.000", "0.000", "+1 555 0101")]
    assert int(str(figures["of what is out: on its way"])) >= 7


def test_recall_names_what_can_be_stopped_first(parcels: Parcels) -> None:
    reach = scope_of_lot(parcels.wax, on=DAY)

    assert [str(buyer.customer) for buyer in reach.buyers] == [
        "Tollen Baths",
        "Harbour Fair",
        "Ostrell Larder",
    ]
    [parcel] = reach.parcels
    assert (parcel.dispatch, parcel.customer) == (parcels.coming, parcels.spa)
    assert parcel.units == 18
    assert reach.said == "358 units with 3 customers (18 still on the way), 122 finished on hand"
    figures = (reach.sums["on_its_way"], reach.sums["arrived"], reach.missing)
    assert [int(figure) for figure in figures] == [18, 340, 0]


def test_closed_recall_keeps_what_was_on_its_way_then(parcels: Parcels) -> None:
    recall = rooms.recall(parcels.tins)
    closed = rooms.close(recall, {parcels.tins: 122})
    confirm_delivery([parcels.coming], arrived_on=DAY, by=make.user(), at=make.NOON)

    line = closed.lines.get()
    figures = (line.on_its_way or 0, line.arrived, line.with_customers, line.missing)
    assert [int(figure) for figure in figures] == [18, 340, 358, 0]
    assert scope_of(closed).parcels == []


def test_report_from_before_it_was_kept_shows_a_dash(client: Client, parcels: Parcels) -> None:
    """Rows are added only, so the old report is written as it was then."""
    recall = rooms.recall(parcels.tins)
    line = scope_of(recall, on=DAY).lines[0]
    line.recall, line.on_its_way = recall, None
    line.save()
    recall.closed_at, recall.closed_by, recall.cause = make.NOON, make.user(), "Old oil."
    recall.save()
    client.force_login(make.user(Role.INSPECTOR))

    answer = client.get(reverse("aftersales:recall", args=[recall.reference]))

    assertContains(answer, '<td class="num" data-head="On its way">–</td>', html=True)
    assert scope_of(recall).sums["arrived"] == 358


def recalled_today(client: Client, *, arrived: bool) -> tuple[Dispatch, str]:
    """A tin sent today and recalled at once; the dispatch, and the reference of the recall."""
    by, now, today = make.user(Role.OWNER), timezone.now(), timezone.localdate()
    tins = dispatch.finished_lot(40, made_on=today)
    to = dispatch.customer("Tollen Baths", contact="Ivo Marn", telephone="+1 555 0101")
    sent = services.dispatch(
        to, [(tins, Decimal(12))], sent_on=today, by=by, at=now, token=new_token()
    )
    if arrived:
        confirm_delivery([sent], arrived_on=today, by=by, at=now)
    client.force_login(by)
    return sent, rooms.recall(tins, by=by, at=now).reference


def test_recall_page_lists_parcels_with_the_customers_contact(client: Client, db: None) -> None:
    sent, reference = recalled_today(client, arrived=False)

    answer = client.get(reverse("aftersales:recall", args=[reference]))

    for words in ("12 units still on the way. Stop", str(sent), "Ivo Marn", "+1 555 0101"):
        assertContains(answer, words)
    report = client.get(reverse("aftersales:recall-report", args=[reference]))
    text = " ".join(page.extract_text() for page in PdfReader(BytesIO(report.content)).pages)
    assert "12 units still on the way" in " ".join(text.split())
    merged = client.get(reverse("aftersales:recall-merge", args=[reference])).content.decode()
    [row] = csv.DictReader(StringIO(merged))
    assert (row["still out"], row["of that on its way"]) == ("12", "12")


def test_recall_page_without_parcels_does_not_speak_of_them(client: Client, db: None) -> None:
    _, reference = recalled_today(client, arrived=True)

    answer = client.get(reverse("aftersales:recall", args=[reference]))

    assertNotContains(answer, "still on the way")


def test_recall_of_many_parcels_takes_the_same_queries(parcels: Parcels) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as seen:
            scope_of_lot(parcels.wax, on=DAY)
        return len(seen)

    few = asked()
    for number in range(12):
        parcels.send(dispatch.customer(f"Shop {number}"), 1, days_ago=1)

    assert len(scope_of_lot(parcels.wax, on=DAY).parcels) == 13
    assert asked() == few
