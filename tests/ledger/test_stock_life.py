"""The lots that expire soonest, at the pace of the last half year."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pytest_django.asserts import assertContains

from tests import make
from workshop.ledger import services as ledger
from workshop.ledger.models import Item, Lot, OperationKind, Side, Status
from workshop.ledger.stock_life import soonest_to_expire

pytestmark = pytest.mark.django_db


def dated(item: Item, days: int, on_hand: int, status: Status = Status.RELEASED) -> Lot:
    return make.lot(
        item,
        on_hand=on_hand,
        status=status,
        made_on=make.day(-200),
        best_before=make.day(days),
    )


def use(lot: Lot, grams: int) -> None:
    batch = make.operation(OperationKind.BATCH)
    at = make.NOON - timedelta(days=1)
    ledger.post(batch, lot, Side.IN, Decimal(grams), by=make.user(), at=at)


def test_what_is_left_over_is_told_from_what_was_used_lately() -> None:
    item = make.item()
    first, second = dated(item, 10, 400), dated(item, 300, 180)
    use(first, 180)  # in 180 days: 1 g a day; 220 g are left of it

    one, two = soonest_to_expire(make.DAY, 5)

    assert (one.lot, one.left_over) == (first, Decimal(210))
    assert one.words == "210.0\u202fg will be left over"
    assert (two.lot, two.left_over) == (second, Decimal(0))
    assert two.words == "lasts 6 months"  # 180 days after the ten that the first lasts


def test_lot_on_hold_holds_nothing_up_and_an_old_one_says_so() -> None:
    item = make.item()
    held, good = dated(item, 5, 900, Status.ON_HOLD), dated(item, 90, 18)
    past = dated(make.item(), -4, 7)
    use(good, 9)  # 0.05 g a day, 9 g left: half a year

    found = {row.lot: row for row in soonest_to_expire(make.DAY, 5)}

    assert found[held].words == "not released"
    assert found[past].words == "expired 4 days ago"
    assert found[good].left_over == Decimal("4.5")


def test_lots_used_up_or_rejected_or_without_a_date_are_left_out() -> None:
    item = make.item()
    dated(item, 5, 0)
    dated(item, 5, 10, Status.REJECTED)
    make.lot(item, on_hand=10, best_before=None)

    assert soonest_to_expire(make.DAY, 5) == []


def test_stock_opens_on_it_with_the_same_queries_for_any_number(client: Client) -> None:
    client.force_login(make.user())
    asked = []
    for more in (1, 11):
        for _ in range(more):
            dated(make.item(), 40, 5)
        with CaptureQueriesContext(connection) as queries:
            page = client.get(reverse("ledger:home"))
        asked.append(len(queries))

    assertContains(page, "Stock against expiry")
    assert asked[0] == asked[1]
