"""A dispatch that never left is taken back; a wrong customer or reference is corrected."""

from typing import Any

import pytest

from tests import make
from tests.dispatch import build
from workshop.audit.all_checks import prove
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.dispatch import queries
from workshop.dispatch.models import Customer, Dispatch, Whereabouts
from workshop.dispatch.services import corrections, delivery_confirmation
from workshop.ledger import services as ledger
from workshop.ledger.models import Correction, Status
from workshop.ledger.services import InTheWay

pytestmark = pytest.mark.django_db
WHY = "The parcel was never packed"


def undo(dispatch: Dispatch, **values: Any) -> Dispatch:
    people: dict[str, Any] = {"by": make.user(), "at": make.NOON, "reason": WHY}
    return corrections.undo(dispatch, **people | {"token": new_token()} | values)


def correct(dispatch: Dispatch, **values: Any) -> Dispatch:
    facts = {
        "customer": dispatch.customer,
        "customer_reference": dispatch.customer_reference,
        "note": dispatch.note,
    }
    people = {"by": make.user(), "at": make.NOON, "reason": WHY, "token": new_token()}
    return corrections.correct(dispatch, **{**facts, **people, **values})


def word_of(dispatch: Dispatch) -> None:
    delivery_confirmation.confirm_delivery(
        [dispatch], arrived_on=make.DAY, by=make.user(), at=make.NOON
    )


def test_dispatch_taken_back_puts_its_units_on_the_shelf_and_counts_nowhere() -> None:
    lot = build.finished_lot(40)
    sent = build.sent((lot, 12))

    undo(sent)

    assert ledger.on_hand(lot) == 40
    lot.refresh_from_db()
    assert lot.status == Status.RELEASED
    kept = queries.dispatches(on=make.DAY).get()
    assert kept.taken_back is not None
    assert kept.taken_back.reason == WHY
    assert kept.whereabouts == Whereabouts.TAKEN_BACK
    assert queries.on_its_way([lot.pk], on=make.DAY) == {}
    assert not Dispatch.objects.without_word(on=make.DAY).exists()
    customer: Any = Customer.objects.with_dispatches().get()
    assert (customer.sent, customer.last_sent) == (0, None)
    assert sent.operation.seals.count() == 2
    assert all(finding.is_sound for finding in prove())


def test_dispatch_that_arrived_or_came_back_says_what_stands_in_the_way() -> None:
    arrived = build.sent((build.finished_lot(40), 2))
    word_of(arrived)
    returned = build.sent((build.finished_lot(40), 2), to=build.customer("Brindle Deli"))
    build.back(returned, (returned.operation.postings.get().lot, 1))

    for dispatch, words in ((arrived, "arrived"), (returned, "came back")):
        with pytest.raises(InTheWay, match=words):
            undo(dispatch)
        with pytest.raises(ActionRefused, match=words):
            correct(dispatch, customer=build.customer(f"Other than {words}"))
        dispatch.refresh_from_db()
        assert dispatch.taken_back is None


def test_nothing_more_happens_to_a_dispatch_taken_back() -> None:
    sent = build.sent((build.finished_lot(40), 2))
    lot = sent.operation.postings.get().lot
    undo(sent)
    sent.refresh_from_db()

    for act in (
        lambda: undo(sent),
        lambda: word_of(sent),
        lambda: build.back(sent, (lot, 1)),
        lambda: correct(sent, customer_reference="EX-9"),
    ):
        with pytest.raises(ActionRefused, match="was taken back"):
            act()


@pytest.mark.parametrize("role", [Role.PACKER, Role.MAKER])
def test_only_an_owner_takes_back_or_corrects_a_closed_dispatch(role: Role) -> None:
    sent = build.sent((build.finished_lot(40), 2))
    with pytest.raises(ActionRefused, match="Only an owner"):
        undo(sent, by=make.user(role))
    with pytest.raises(ActionRefused, match="Only an owner"):
        correct(sent, customer_reference="EX-9", by=make.user(role))


def test_same_form_again_takes_back_once() -> None:
    sent, token = build.sent((build.finished_lot(40), 2)), new_token()
    undo(sent, token=token)
    undo(sent, token=token)
    assert sent.operation.postings.count() == 2


def test_wrong_customer_and_reference_are_corrected_and_stay_to_be_read() -> None:
    sent = build.sent((build.finished_lot(40), 2), customer_reference="EX-1")
    right = build.customer("Brindle Deli")

    correct(sent, customer=right, customer_reference="EX-2")

    sent.refresh_from_db()
    assert (sent.customer, sent.customer_reference) == (right, "EX-2")
    assert [(one.fact, one.was, one.now) for one in Correction.objects.all()] == [
        ("customer", "Ostrell Larder", "Brindle Deli"),
        ("their reference", "EX-1", "EX-2"),
    ]
    assert all(finding.is_sound for finding in prove())


def test_reference_may_be_corrected_after_it_arrived() -> None:
    sent = build.sent((build.finished_lot(40), 2), customer_reference="EX-1")
    word_of(sent)
    correct(sent, customer_reference="EX-2")
    sent.refresh_from_db()
    assert sent.customer_reference == "EX-2"


def test_customer_no_longer_supplied_is_not_put_in_the_place_of_another() -> None:
    sent = build.sent((build.finished_lot(40), 2))
    with pytest.raises(ActionRefused) as refused:
        correct(sent, customer=build.customer("Gone", is_active=False))
    assert refused.value.field == "customer"


def test_form_of_a_dispatch_sent_again_with_other_lots_is_refused_and_sends_nothing() -> None:
    """The first dispatch must not be shown as if the second had gone."""
    lot, to, token = build.finished_lot(40), build.customer(), new_token()
    first = build.sent((lot, 5), to=to, token=token)
    assert build.sent((lot, 5), to=to, token=token) == first

    with pytest.raises(ActionRefused, match=r"already sent with other figures \(lots\)"):
        build.sent((lot, 6), to=to, token=token)
    assert ledger.on_hand(lot) == 35
    assert Dispatch.objects.count() == 1
