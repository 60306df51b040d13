"""Limits met exactly: the last unit, and the same day."""

from datetime import timedelta
from decimal import Decimal

import pytest

from tests import make
from tests.dispatch import build
from workshop.core.errors import ActionRefused
from workshop.dispatch.dispatch_lines import lines_of
from workshop.ledger import services as ledger

pytestmark = pytest.mark.django_db


def test_last_unit_on_hand_may_go_and_not_one_more() -> None:
    lot, to = build.finished_lot(12), build.customer()
    with pytest.raises(ActionRefused, match="holds 12, not 13"):
        build.sent((lot, 13), to=to)
    build.sent((lot, 12), to=to)
    assert ledger.on_hand(lot) == 0


def test_all_that_was_sent_may_come_back_and_not_one_more() -> None:
    lot = build.finished_lot(12)
    sent = build.sent((lot, 12))
    build.back(sent, (lot, 11))
    with pytest.raises(ActionRefused, match="only 1 of"):
        build.back(sent, (lot, 2))
    build.back(sent, (lot, 1))
    assert [line.still_out for line in lines_of(sent)] == [Decimal(0)]


def test_lot_may_go_and_come_back_on_the_day_it_was_packed() -> None:
    lot = build.finished_lot(12, made_on=make.DAY)
    sent = build.sent((lot, 12), sent_on=make.DAY)
    assert build.back(sent, (lot, 1), returned_on=make.DAY).pk


def test_lot_best_before_the_day_of_sending_goes_no_more() -> None:
    lot = build.finished_lot(
        12, best_before=make.DAY - timedelta(days=1), made_on=make.DAY - timedelta(days=9)
    )
    with pytest.raises(ActionRefused, match="was best before"):
        build.sent((lot, 1))
    assert build.sent((lot, 1), to=build.customer("Other"), sent_on=make.DAY - timedelta(days=1)).pk
