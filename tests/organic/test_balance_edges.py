"""Edges of a balance: midnight of the workshop, open batches, lots judged anew, goods sent back."""

from datetime import datetime, time, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone

from tests import make
from tests.goods_in import build as goods
from tests.organic.test_balance import at, balance, oil_of, used
from tests.organic.test_needed import organic, tins
from workshop.core.saving.new_tokens import new_token
from workshop.goods_in import services as goods_services
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, Lot, OperationKind, Side
from workshop.materials.services.blends import BlendComponent
from workshop.organic.balance.query import Period
from workshop.organic.balance.statement import statement
from workshop.rules.organic.mass_balance import MassBalance

pytestmark = pytest.mark.django_db
DAY, ONE = make.DAY, timedelta(days=1)
KG = 1_000_000  # milligrams


def clock(days: int, hour: int, minute: int) -> datetime:
    """A moment by the clock on the workshop's wall."""
    return timezone.make_aware(datetime.combine(DAY + days * ONE, time(hour, minute)))


def taken(grams: int, when: datetime, oil: Lot) -> None:
    """Into a batch that nothing comes of."""
    batch = make.operation(OperationKind.BATCH)
    ledger.post(batch, oil, Side.IN, Decimal(grams), by=make.user(), at=when)


def test_days_end_at_midnight_on_the_wall_of_the_workshop() -> None:
    # At UTC-5 and UTC+13 the minute before midnight lies on two other days of UTC.
    for zone in ("America/New_York", "Pacific/Auckland"):
        lot = oil_of(-30)
        with timezone.override(zone):
            taken(100, clock(-5, 23, 59), lot)
            taken(7, clock(-4, 0, 1), lot)

            assert balance(lot.item, -20, -5).used == 100_000
            assert balance(lot.item, -4, 0).used == 7_000
            assert balance(lot.item, -4, 0).opening == 10 * KG - 100_000


def test_batch_that_is_open_at_the_border_is_told_and_no_gram_is_lost() -> None:
    lot = oil_of(-30)
    batch = make.operation(OperationKind.BATCH)
    by = make.user()
    ledger.post(batch, lot, Side.IN, Decimal(400), by=by, at=at(-11))
    ledger.post(batch, lot, Side.IN, Decimal(100), by=by, at=at(-9))
    bulk = ledger.create_lot(
        make.item(ItemKind.BULK),
        origin=batch, made_on=DAY - 9 * ONE, best_before=None, by=by, at=at(-9),
    )  # fmt: skip
    ledger.post(batch, bulk, Side.OUT, Decimal(480), by=by, at=at(-9))

    until = statement(lot.item, Period(DAY - 20 * ONE, DAY - 10 * ONE))

    told = "A record that was open at the end of the period may stand in the next one too."
    assert told in until.notices
    assert balance(lot.item, -20, -10).used == 400_000
    assert balance(lot.item, -9, 0).used == 100_000
    assert balance(bulk.item, -20, -10) == MassBalance()
    assert balance(bulk.item, -9, 0) == MassBalance(made=480_000)


def test_lot_that_lost_its_status_leaves_the_organic_balance_until_certified_again() -> None:
    oil = goods.material()
    lot = oil_of(-20, 1_000, item=oil, organic_until=DAY)
    oil_of(-20, 300, item=oil, organic_until=DAY)
    act: dict[str, Any] = {"by": make.user(), "at": make.NOON}

    goods_services.decide_organic(
        lot, is_organic=False, **act, token=new_token(), reason="Residue found"
    )
    assert balance(oil, -30, 0, is_organic=True).received == 300_000
    assert balance(oil, -30, 0, is_organic=False).received == KG

    goods_services.decide_organic(
        lot, is_organic=True, certificate=lot.receipt_line.certificate, **act,
        token=new_token(), reason="Tested again",
    )  # fmt: skip
    assert balance(oil, -30, 0, is_organic=True).received == 1_300_000


def test_what_customers_sent_back_is_a_figure_of_its_own() -> None:
    lot = tins(organic(2_000), sold=96, back=2)

    assert balance(lot.item, 0, 0) == MassBalance(made=100_000, sent=96_000, returned=2_000)


def test_stopped_batch_took_what_it_took_and_made_nothing() -> None:
    lot = oil_of(-20)
    used(lot, 500, -10)
    taken(713, at(-9), lot)

    assert balance(lot.item, -15, 0) == MassBalance(opening=10 * KG, used=1_213_000)


def test_blend_that_is_partly_organic_is_balanced_whole_among_what_was_bought_as_organic() -> None:
    parts = [
        BlendComponent("Sunflower", Decimal(60), is_organic=True),
        BlendComponent("Tocopherol", Decimal(40)),
    ]
    blend = goods.material("Blend", is_organic=True, parts=parts)
    oil_of(-20, 500, item=blend, organic_until=DAY)

    assert balance(blend, -30, 0, is_organic=True).received == 500_000
    assert balance(blend, -30, 0, is_organic=False) == MassBalance()
