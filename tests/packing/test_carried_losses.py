"""What runs lost, from a file of an earlier version, becomes what they shed."""

from decimal import Decimal

import pytest

from tests import make
from tests.packing import build
from workshop.ledger import services as ledger
from workshop.ledger.models import Posting, Shed, Side
from workshop.transfer.archive.earlier_table_shapes import FOLDED

pytestmark = pytest.mark.django_db


def lost(grams: int, reason: str) -> Posting:
    run, bulk = build.run(), make.lot(on_hand=100)
    return ledger.post(
        run.operation, bulk, Side.IN, Decimal(grams), by=make.user(), at=make.NOON, reason=reason
    )


def test_loss_of_an_earlier_version_is_said_by_its_kind() -> None:
    spill, sample = lost(5, "Spilled: jug tipped"), lost(3, "Taken as a sample: fridge 1")
    rows = [
        {"id": "1", "posting_id": str(spill.pk), "kind": "spill"},
        {"id": "2", "posting_id": str(sample.pk), "kind": "sample"},
    ]

    FOLDED["packing_loss"](rows)

    assert [
        (one.operation_id, one.lot_id, one.kind, one.quantity, one.reason)
        for one in Shed.objects.all()
    ] == [
        (spill.operation_id, spill.lot_id, "spilled", Decimal(5), "jug tipped"),
        (sample.operation_id, sample.lot_id, "sampled", Decimal(3), "fridge 1"),
    ]


def test_loss_of_a_run_that_was_taken_back_is_taken_back() -> None:
    spill = lost(5, "Spilled: jug tipped")
    ledger.reverse(spill, by=make.user(), at=make.NOON, reason="Another run")

    FOLDED["packing_loss"]([{"id": "1", "posting_id": str(spill.pk), "kind": "spill"}])

    assert Shed.objects.grams() == 0
    assert not Shed.objects.effective().exists()
    assert Shed.objects.get(corrects__isnull=False).reason == "Another run"
