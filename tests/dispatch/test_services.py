"""Sending finished lots out, and taking them back."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from tests import make
from tests.dispatch import build
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.dispatch import services
from workshop.dispatch.dispatch_lines import SentLine, lines_of
from workshop.dispatch.models import Customer, Dispatch, Return
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, Operation, Posting, Seal, Status

pytestmark = pytest.mark.django_db


def refusal(*lines: object, **values: object) -> str:
    """The sentence with which a dispatch is refused, having checked that nothing is written."""
    customer = values.pop("to", None) or build.customer("A shop")
    before = (Operation.objects.count(), Posting.objects.count())
    with pytest.raises(ActionRefused) as caught, transaction.atomic():
        build.sent(*lines, to=customer, **values)  # type: ignore[arg-type]
    assert Dispatch.objects.count() == 0
    assert (Operation.objects.count(), Posting.objects.count()) == before
    return caught.value.message


def test_dispatch_takes_units_of_several_lots_and_seals_the_record() -> None:
    one, two = build.finished_lot(40), build.finished_lot(10)

    dispatch = build.sent((one, 24), (two, 10), customer_reference=" PO 77 ")

    assert [ledger.on_hand(one), ledger.on_hand(two)] == [Decimal(16), Decimal(0)]
    assert dispatch.customer_reference == "PO 77"
    assert dispatch.operation.reference == f"D-{make.MONTH}-01"
    dispatch.operation.refresh_from_db()
    assert dispatch.operation.is_closed
    assert Seal.objects.filter(operation=dispatch.operation).count() == 1


def test_dispatch_sent_twice_with_one_token_is_made_once() -> None:
    lot, customer = build.finished_lot(40), build.customer()

    first = build.sent((lot, 5), to=customer, token="t1")
    second = build.sent((lot, 5), to=customer, token="t1")

    assert first == second
    assert ledger.on_hand(lot) == 35


def test_dispatch_refuses_more_than_is_on_hand_and_keeps_every_other_lot() -> None:
    plenty, few = build.finished_lot(40), build.finished_lot(3)

    sentence = refusal((plenty, 5), (few, 4))

    assert sentence == f"Lot {few} holds 3, not 4."
    assert [ledger.on_hand(plenty), ledger.on_hand(few)] == [Decimal(40), Decimal(3)]


@pytest.mark.parametrize(
    ("status", "word"),
    [
        (Status.QUARANTINE, "quarantine"),
        (Status.ON_HOLD, "on hold"),
        (Status.REJECTED, "rejected"),
    ],
)
def test_dispatch_refuses_a_lot_that_is_not_released(status: Status, word: str) -> None:
    lot = build.finished_lot()
    if status == Status.QUARANTINE:
        lot = build.finished_lot(status=status)
    else:
        ledger.set_lot_status(lot, status, by=make.user(), at=make.NOON, reason="Seam open")

    sentence = refusal((lot, 1))

    assert sentence == f"Lot {lot} is not released ({word}); only released lots go out."


def test_dispatch_refuses_a_lot_past_its_date() -> None:
    lot = build.finished_lot(
        best_before=make.DAY - timedelta(days=1), made_on=make.DAY - timedelta(days=300)
    )

    assert refusal((lot, 1)) == f"Lot {lot} was best before {make.shown(-1)}."


def test_dispatch_lets_a_lot_go_on_its_last_good_day() -> None:
    lot = build.finished_lot(best_before=make.DAY)

    build.sent((lot, 1))

    assert ledger.on_hand(lot) == 39


def test_dispatch_refuses_what_is_not_a_finished_product() -> None:
    oil = make.lot(make.item(ItemKind.MATERIAL, name="Sunflower oil"))

    assert refusal((oil, 1)) == f"Lot {oil} is Sunflower oil, not a finished product."


def test_dispatch_refuses_half_a_tin_and_less_than_one() -> None:
    lot = build.finished_lot()

    assert "whole pieces" in refusal((lot, Decimal("1.5")), to=build.customer("One"))
    assert refusal((lot, 0), to=build.customer("Two")) == "The quantity must be above zero."


def test_dispatch_refuses_a_lot_in_two_rows() -> None:
    lot = build.finished_lot()

    assert refusal((lot, 1), (lot, 2)) == (f"Lot {lot} stands in two rows; put its units into one.")


def test_dispatch_refuses_no_lot_at_all() -> None:
    assert refusal() == "Enter at least one lot."


def test_dispatch_refuses_a_day_to_come_and_a_day_before_packing() -> None:
    lot = build.finished_lot()

    late = refusal((lot, 1), sent_on=make.DAY + timedelta(days=1), to=build.customer("One"))
    early = refusal((lot, 1), sent_on=make.DAY - timedelta(days=1), to=build.customer("Two"))

    assert late == "That date is in the future."
    assert early == f"Lot {lot} was packed on {make.shown()}, after the day of sending."


def test_dispatch_refuses_a_customer_no_longer_supplied() -> None:
    closed = build.customer("Old Corner", is_active=False)

    assert refusal((build.finished_lot(), 1), to=closed) == "Old Corner is no longer supplied."


def test_return_puts_units_back_and_holds_the_lot() -> None:
    lot = build.finished_lot(40)
    dispatch = build.sent((lot, 24))

    returned = build.back(dispatch, (lot, 2), reason="Smells rancid")

    lot.refresh_from_db()
    assert ledger.on_hand(lot) == 18
    assert lot.status == Status.ON_HOLD
    assert lot.status_changes.last().reason == (  # type: ignore[union-attr]
        f"Came back from Ostrell Larder ({returned}): Smells rancid"
    )
    returned.operation.refresh_from_db()
    assert returned.operation.is_closed
    assert lines_of(dispatch) == [SentLine(lot, sent=Decimal(24), back=Decimal(2))]


def test_return_leaves_a_rejected_lot_rejected() -> None:
    lot = build.finished_lot(40)
    dispatch = build.sent((lot, 24))
    ledger.set_lot_status(lot, Status.REJECTED, by=make.user(), at=make.NOON, reason="Recalled")

    build.back(dispatch, (lot, 24))

    lot.refresh_from_db()
    assert lot.status == Status.REJECTED


def test_return_refuses_more_than_is_still_out() -> None:
    lot = build.finished_lot(40)
    dispatch = build.sent((lot, 24))
    build.back(dispatch, (lot, 20))

    with pytest.raises(ActionRefused) as caught, transaction.atomic():
        build.back(dispatch, (lot, 5))

    assert caught.value.message == f"Of lot {lot} only 4 of {dispatch} are still out."
    assert ledger.on_hand(lot) == 36
    assert Return.objects.count() == 1


def test_return_refuses_a_lot_that_another_dispatch_sent() -> None:
    one, other = build.finished_lot(), build.finished_lot()
    dispatch = build.sent((one, 4))
    build.sent((other, 4), to=build.customer("Another"))

    with pytest.raises(ActionRefused, match="only 0 of"):
        build.back(dispatch, (other, 1))


def test_return_sent_twice_with_one_token_is_made_once() -> None:
    lot = build.finished_lot(40)
    dispatch = build.sent((lot, 24))

    assert build.back(dispatch, (lot, 2), token="b") == build.back(dispatch, (lot, 2), token="b")
    assert ledger.on_hand(lot) == 18


@pytest.mark.parametrize(
    ("days", "reason", "sentence"),
    [
        (1, "Dented", "That date is in the future."),
        (-1, "Dented", f"It was sent on {make.shown()}, so it came back later than this."),
        (0, "  ", "Say why it came back."),
    ],
)
def test_return_refuses_odd_days_and_no_reason(days: int, reason: str, sentence: str) -> None:
    lot = build.finished_lot()
    dispatch = build.sent((lot, 4))

    with pytest.raises(ActionRefused) as caught:
        build.back(dispatch, (lot, 1), returned_on=make.DAY + timedelta(days=days), reason=reason)

    assert caught.value.message == sentence


def test_customer_is_saved_with_who_did_it() -> None:
    packer = make.user(Role.PACKER)

    customer = services.save_customer(
        Customer(name="Quillan Street Chemist"), by=packer, at=make.NOON
    )

    assert customer.history.get().history_user == packer


def test_customer_has_a_name_of_its_own() -> None:
    build.customer("Ostrell Larder")

    with pytest.raises(IntegrityError), transaction.atomic():
        build.customer("Ostrell Larder")


def test_return_table_wants_a_reason() -> None:
    lot = build.finished_lot()
    dispatch = build.sent((lot, 4))

    with pytest.raises(IntegrityError, match="return_says_why"), transaction.atomic():
        Return.objects.create(
            operation=make.operation(), dispatch=dispatch, returned_on=make.DAY, reason=""
        )
