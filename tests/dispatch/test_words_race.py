"""Many people with word of one dispatch at once: one word stands."""

from datetime import timedelta

import pytest

from tests import make
from tests.dispatch import build
from tests.ledger.test_races import at_once
from workshop.dispatch.models import ConfirmationReversal, DeliveryConfirmation
from workshop.dispatch.services import delivery_confirmation

pytestmark = pytest.mark.django_db(transaction=True)


def test_word_brought_and_taken_back_by_many_at_once_is_one_at_a_time() -> None:
    tins, by = build.finished_lot(made_on=make.DAY - timedelta(days=9)), make.user()
    dispatch = build.sent((tins, 5), sent_on=make.DAY - timedelta(days=3))

    def hear(_: int) -> int:
        return len(
            delivery_confirmation.confirm_delivery(
                [dispatch], arrived_on=make.DAY, by=by, at=make.NOON
            )
        )

    assert sorted(at_once(hear)) == [0] * 7 + [1]
    word = DeliveryConfirmation.objects.get()

    def doubt(_: int) -> bool:
        back = delivery_confirmation.reverse_confirmation(
            word, by=by, at=make.NOON, reason="Wrong row"
        )
        return back is not None

    assert sum(at_once(doubt)) == 1
    assert sorted(at_once(hear)) == [0] * 7 + [1]
    assert (DeliveryConfirmation.objects.count(), ConfirmationReversal.objects.count()) == (2, 1)
