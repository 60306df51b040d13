"""What lies behind a closed record stays as it is, whoever asks; so do history and files."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction

from tests import make
from tests.dispatch import build as dispatching
from tests.goods_in import build as goods
from tests.kettle import build as kettles
from tests.packing import build as packing
from workshop.kettle import services as kettle_services
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Operation, Status

pytestmark = pytest.mark.django_db


def refused(sql: str, *values: Any) -> str:
    with (
        pytest.raises(IntegrityError) as refusal,
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(sql, values)
    return str(refusal.value)


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE goods_in_receipt SET delivery_note = 'x'",
        "UPDATE goods_in_receiptline SET supplier_lot = 'x'",
        "DELETE FROM goods_in_receiptline",
    ],
)
def test_receipt_stays_as_it_was_closed(sql: str) -> None:
    goods.line()

    assert "closed and sealed" in refused(sql)


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE dispatch_dispatch SET customer_reference = 'x'",
        "UPDATE dispatch_return SET reason = 'x'",
        "DELETE FROM dispatch_return",
    ],
)
def test_dispatch_and_return_stay_as_they_were_closed(sql: str) -> None:
    lot = dispatching.finished_lot()
    dispatching.back(dispatching.sent((lot, 4)), (lot, 1))

    assert "closed and sealed" in refused(sql)


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE kettle_batch SET note = 'x'",
        "UPDATE kettle_batchline SET target_g = target_g + 1",
        "DELETE FROM kettle_batchline",
    ],
)
def test_batch_stays_as_it_was_closed_until_an_owner_amends_it(sql: str) -> None:
    batch, owner = kettles.poured(), kettles.owner()
    kettle_services.close_batch(batch, by=owner, at=make.NOON)
    assert "closed and sealed" in refused(sql)

    kettle_services.amend_batch(batch, by=owner, at=make.NOON, reason="A note is missing")

    with connection.cursor() as cursor:
        cursor.execute("UPDATE kettle_batch SET note = 'x'")


def test_packing_run_stays_as_it_was_closed() -> None:
    packing.packed()

    assert "closed and sealed" in refused("UPDATE packing_packingrun SET note = 'x'")


def test_who_closed_a_record_stays() -> None:
    lot, other = make.lot(), make.user()

    sentence = refused("UPDATE ledger_operation SET closed_by_id = %s", other.pk)

    assert "opened again only by an amendment" in sentence
    assert Operation.objects.get(pk=lot.origin_id).closed_by != other


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE ledger_lot SET status = 'rejected'",
        "UPDATE ledger_lot SET best_before = '2999-01-01'",
    ],
)
def test_status_and_date_of_a_lot_change_only_with_a_word(sql: str) -> None:
    make.lot(best_before=make.DAY)

    assert "who, when and why" in refused(sql)


def test_status_and_date_of_a_lot_change_with_a_word() -> None:
    lot, later = make.lot(), make.DAY + timedelta(days=9)

    make.put(lot, Status.ON_HOLD)
    ledger.change_best_before(lot, later, by=make.user(), at=make.NOON, reason="Tested")

    found = Lot.objects.get(pk=lot.pk)
    assert (found.status, found.best_before) == (Status.ON_HOLD, later)


@pytest.mark.parametrize("act", ["UPDATE {0} SET name = 'x'", "DELETE FROM {0}"])
def test_history_is_only_added_to(act: str) -> None:
    dispatching.customer()

    assert "only ever added" in refused(act.format("dispatch_historicalcustomer"))
