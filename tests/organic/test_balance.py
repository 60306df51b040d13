"""Balances of mass held against plain SQL over the postings, and the borders of a period."""

from collections import defaultdict
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise
from typing import Any

import pytest
from django.db import connection

from tests import make
from tests.goods_in import build as goods
from tests.goods_in.test_composition import made
from workshop.core.saving.new_tokens import new_token
from workshop.goods_in.services.corrections import take_back
from workshop.goods_in.services.opening_stock import OpeningIn, take_over
from workshop.ledger import services as ledger
from workshop.ledger.models import Item, Lot, OperationKind, Posting, ShedKind, Side
from workshop.ledger.services.losses import shed_in_store
from workshop.organic.balance.query import Period, sums
from workshop.rules.organic.mass_balance import MassBalance

pytestmark = pytest.mark.django_db
DAY, ONE = make.DAY, timedelta(days=1)
KG = 1_000_000  # milligrams


def at(days: int) -> Any:
    return make.NOON + timedelta(days=days)


def balance(
    item: Item, first: int, last: int, *, today: bool = True, is_organic: bool | None = None
) -> MassBalance:
    """The balance of an item from one day to another, counted from today."""
    period = Period(DAY + first * ONE, DAY + last * ONE)
    found = sums(
        period, ["lot__item"], items=[item.pk], as_known_today=today, is_organic=is_organic
    ).balances()
    return found.get((item.pk,), MassBalance())


def oil_of(days: int, grams: int = 10_000, item: Item | None = None, **values: Any) -> Lot:
    """Oil that came in and was entered on a day."""
    return goods.lot(item, received_on=DAY + days * ONE, at=at(days), grams=grams, **values)


def used(lot: Lot, grams: int, days: int) -> Lot:
    (bulk,) = made([(lot, grams)], at=at(days))
    return bulk


def test_oil_of_a_season_adds_up_to_what_is_there() -> None:
    oil = goods.material()
    lot = oil_of(-100, item=oil)
    oil_of(-60, 5_000, item=oil)
    used(lot, 2_000, -90)
    used(lot, 3_000, -50)
    by: dict[str, Any] = {"by": make.user(), "token": new_token()}
    ledger.discard(lot, Decimal(40), at=at(-40), reason="Spilt", **by)
    ledger.count_lot(lot, Decimal(4_950), at=at(-30), reason="Count", by=make.user(), token="c")

    assert balance(oil, -70, -10) == MassBalance(
        opening=8 * KG, received=5 * KG, used=3 * KG, written_off=40_000, counted=-10_000
    )
    assert balance(oil, -70, -10).closing == 9_950_000
    assert balance(oil, -70, -10).unexplained == 10_000


def test_stock_before_the_book_is_a_figure_of_its_own() -> None:
    oil = goods.material()
    there = OpeningIn(item=oil, quantity=Decimal(300), made_on=DAY - 50 * ONE)
    take_over([there], day=DAY - 30 * ONE, by=make.user(), at=at(-30))

    assert balance(oil, -100, -10) == MassBalance(taken_over=300_000)
    assert balance(oil, -9, 0) == MassBalance(opening=300_000)


def test_loss_in_store_is_no_count() -> None:
    lot = oil_of(-10, 1_000)
    shed_in_store(
        lot, ShedKind.EVAPORATED, Decimal(5), by=make.user(), at=at(-5), token=new_token()
    )

    assert balance(lot.item, -20, 0) == MassBalance(received=KG, shed=5_000)


def test_day_belongs_to_the_period_to_its_last_moment() -> None:
    lot = oil_of(-10)
    used(lot, 100, -5)

    assert balance(lot.item, -20, -5).used == 100_000
    assert balance(lot.item, -20, -6).used == 0
    assert balance(lot.item, -5, 0).used == 100_000
    assert balance(lot.item, -4, 0) == MassBalance(opening=10 * KG - 100_000)


def test_correction_after_the_period_counts_on_the_day_it_is_about() -> None:
    lot = oil_of(-50)
    used(lot, 100, -40)
    posting = Posting.objects.get(lot=lot, side=Side.IN)
    ledger.reverse(posting, by=make.user(), at=at(-10), reason="Wrong jar")

    assert balance(lot.item, -45, -20).used == 0
    assert balance(lot.item, -45, -20, today=False).used == 100_000
    assert balance(lot.item, -15, 0, today=False).used == -100_000
    assert balance(lot.item, -15, 0).used == 0


def test_delivery_entered_late_counts_on_the_day_it_came() -> None:
    oil = goods.material()
    goods.receipt(goods.arrived(oil), received_on=DAY - 20 * ONE, at=at(-3))

    assert balance(oil, -30, -10).received == 5 * KG
    assert balance(oil, -30, -10, today=False).received == 0
    assert balance(oil, -9, 0) == MassBalance(opening=5 * KG)


def test_receipt_taken_back_never_came() -> None:
    oil = goods.material()
    taken = goods.receipt(goods.arrived(oil), received_on=DAY - 20 * ONE, at=at(-20))
    take_back(taken, list(taken.lines.all()), by=make.user(), at=at(-2), reason="Not ours")

    assert balance(oil, -30, -10) == MassBalance()
    assert balance(oil, -9, 0) == MassBalance()
    assert balance(oil, -30, -10, today=False).received == 5 * KG
    assert balance(oil, -9, 0, today=False).closing == 0


def test_organic_lots_of_an_item_are_balanced_by_themselves() -> None:
    oil = goods.material()
    oil_of(-20, 1_000, item=oil, organic_until=DAY)
    oil_of(-20, 300, item=oil)

    assert balance(oil, -30, 0, is_organic=True).received == KG
    assert balance(oil, -30, 0, is_organic=False).received == 300_000
    assert balance(oil, -30, 0).received == 1_300_000


def story() -> list[Item]:
    """Half a year in short: two oils, melts, corrections, counts and losses; items moved."""
    oils = [goods.material() for _ in range(2)]
    lots = [oil_of(-150 + 7 * number, item=oils[number % 2]) for number in range(6)]
    bulks = [used(lot, 500 + 37 * number, -120 + 9 * number) for number, lot in enumerate(lots)]
    wrong = Posting.objects.filter(side=Side.IN, operation__kind=OperationKind.BATCH)
    for posting in wrong.order_by("pk")[::3]:
        ledger.reverse(posting, by=make.user(), at=at(-20), reason="Wrong jar")
    ledger.count_lot(lots[0], Decimal(9_000), at=at(-15), reason="C", by=make.user(), token="c1")
    ledger.discard(lots[1], Decimal("12.5"), at=at(-14), reason="Old", by=make.user(), token="d1")
    goods.receipt(goods.arrived(oils[0]), received_on=DAY - 90 * ONE, at=at(-30))
    return [*oils, *(bulk.item for bulk in bulks)]


def by_sql(item: Item, until: date) -> int:
    """Stock at the end of a day by plain SQL: every posting counted when it was written."""
    ends = Period(until, until).ends
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT COALESCE(SUM(p.quantity), 0) FROM ledger_posting p"
            " JOIN ledger_lot l ON l.id = p.lot_id WHERE l.item_id = %s AND p.at < %s",
            [item.pk, connection.ops.adapt_datetimefield_value(ends)],
        )
        return int(cursor.fetchone()[0])


def test_any_split_meets_and_agrees_with_plain_sql() -> None:
    items = story()
    borders = [-160, -121, -100, -61, -21, -14, 0]
    for today in (True, False):
        closings: dict[Item, list[MassBalance]] = defaultdict(list)
        for first, last in pairwise(borders):
            for item in items:
                closings[item].append(balance(item, first, last - 1, today=today))
        for item, parts in closings.items():
            whole = parts[0]
            for part in parts[1:]:
                assert part.opening == whole.closing
                whole = replace(whole + part, opening=whole.opening)
            assert whole == balance(item, borders[0], borders[-1] - 1, today=today)
    for item in items:
        for day in borders:
            found = balance(item, day - 5, day, today=False)
            assert found.closing == by_sql(item, DAY + day * ONE)
        assert balance(item, -160, 0).closing == by_sql(item, DAY)


def test_all_items_at_once_are_each_as_by_itself() -> None:
    items = story()
    period = Period(DAY - 100 * ONE, DAY - 10 * ONE)
    at_once = sums(period, ["lot__item"]).balances()

    assert {item.pk: at_once.get((item.pk,), MassBalance()) for item in items} == {
        item.pk: balance(item, -100, -10) for item in items
    }
