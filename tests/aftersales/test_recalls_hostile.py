"""Recalls among people who contradict themselves, send on what is recalled, and close at once."""

import threading
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from tests import make
from tests.dispatch import build as dispatch
from tests.page_forms import form_of
from tests.trace import rooms
from workshop.aftersales.models import Recall, RecallEntry, RecallLine
from workshop.aftersales.recalls.scope import scope_of
from workshop.aftersales.services import recalls
from workshop.core.errors import ActionRefused
from workshop.core.saving.new_tokens import new_token
from workshop.ledger import services as ledger

pytestmark = pytest.mark.django_db
LATER = make.NOON + timedelta(hours=2)


def test_customer_who_says_more_than_they_can_have_is_named() -> None:
    """They said 18 are destroyed, and then sent ten of them back: somebody counted wrongly."""
    house = rooms.House()
    recall = rooms.recall(house.tins)
    house.talk(recall, house.shop, "answered", sold_on=Decimal(300))
    house.talk(recall, house.spa, "answered", destroyed=Decimal(18))
    dispatch.back(house.to_spa, (house.tins, 10))

    closed = rooms.close(recall, {house.tins: 172})

    assert closed.gaps.splitlines() == [
        "Tollen Baths: 18 are said to be destroyed or sold on, but only 8 are still out."
        " Ask them again."
    ]


def test_customer_told_twice_is_counted_once_and_a_later_answer_takes_the_place() -> None:
    house = rooms.House()
    recall = rooms.recall(house.tins)
    for _ in range(2):
        house.talk(recall, house.spa, "told")
    house.talk(recall, house.spa, "answered", destroyed=Decimal(18))
    house.talk(recall, house.spa, "answered", destroyed=Decimal(3), sold_on=Decimal(15))

    reach = scope_of(recall)

    [spa] = [buyer for buyer in reach.buyers if buyer.customer == house.spa]
    assert (reach.told, reach.answered) == (1, 1)
    assert list(map(int, (spa.destroyed, spa.sold_on, spa.unexplained))) == [3, 15, 0]


def test_customer_who_never_got_any_is_not_heard_about_them() -> None:
    house = rooms.House()
    recall = rooms.recall(house.tins)
    stranger = dispatch.customer("Quillan Chemist")

    with pytest.raises(ActionRefused, match="Quillan Chemist was sent none of these lots"):
        house.talk(recall, stranger, "answered", destroyed=Decimal(1))
    assert RecallEntry.objects.filter(customer=stranger).count() == 0


def test_more_than_was_sent_cannot_come_back() -> None:
    house = rooms.House()
    rooms.recall(house.tins)
    dispatch.back(house.to_spa, (house.tins, 18))

    with pytest.raises(ActionRefused):
        dispatch.back(house.to_spa, (house.tins, 1))


def test_recalled_lot_is_not_sent_on() -> None:
    house = rooms.House()
    rooms.recall(house.wax)

    with pytest.raises(ActionRefused):
        dispatch.sent((house.tins, 1), to=house.spa)


def test_lot_sent_on_in_a_drill_is_among_what_is_out_when_it_ends() -> None:
    house = rooms.House()
    drill = rooms.recall(house.wax, is_drill=True)
    dispatch.sent((house.tins, 40), to=dispatch.customer("Quillan Chemist", telephone="1"))

    closed = rooms.close(drill, {house.tins: 122, house.salve: 100, house.wax: 1200})

    assert closed.gaps == ""
    reach = scope_of(closed)
    figures = (reach.made, reach.sent, reach.on_hand, reach.missing)
    assert list(map(int, figures)) == [480, 358, 122, 0]


def test_every_unit_missing_at_the_end_is_named() -> None:
    house = rooms.House()
    recall = rooms.recall(house.tins)
    for buyer, units in ((house.shop, 300), (house.spa, 18)):
        house.talk(recall, buyer, "answered", sold_on=Decimal(units))

    closed = rooms.close(recall, {house.tins: 155})

    assert closed.gaps == (f"Lot {house.tins}, Hand salve 60 g: 7 units of 480 not found anywhere.")
    line = RecallLine.objects.get(recall=closed)
    known = line.shelf + line.with_customers + line.used + line.discarded + line.lost
    assert known + line.missing == line.made


def test_what_was_counted_stays_though_the_book_has_none_left_by_now(client: Client) -> None:
    client.force_login(make.user())
    house = rooms.House()
    recall = rooms.recall(house.tins)
    for buyer, units in ((house.shop, 300), (house.spa, 18)):
        house.talk(recall, buyer, "answered", sold_on=Decimal(units))
    ledger.discard(
        house.tins, Decimal(162), reason="Written off", token="d", by=make.user(), at=LATER
    )

    close = reverse("aftersales:close-recall", args=[recall.reference])
    asked = client.post(
        close, {"cause": "Old oil.", f"found_{house.tins.pk}": "2", "token": new_token()}
    )
    client.post(close, form_of(asked))

    recall.refresh_from_db()
    assert recall.gaps == (
        f"Lot {house.tins}, Hand salve 60 g: 2 units more accounted for than were made."
    )


def test_form_of_one_recall_sent_for_another_is_refused() -> None:
    house = rooms.House()
    first, second = rooms.recall(house.tins), rooms.recall(house.salve)
    house.talk(first, house.spa, "told", token="one form")

    with pytest.raises(ActionRefused, match="already sent with other figures"):
        house.talk(second, house.spa, "told", token="one form")
    with pytest.raises(ActionRefused, match="already sent with other figures"):
        rooms.recall(house.wax, token="one form")
    assert RecallEntry.objects.filter(what="told").count() == 1
    assert Recall.objects.count() == 2


@pytest.mark.django_db(transaction=True)
def test_two_who_begin_at_once_begin_one_recall() -> None:
    house = rooms.House()
    people = [make.user(), make.user()]
    gate, said = threading.Barrier(2), ["", ""]

    def begin(number: int) -> None:
        gate.wait()
        try:
            rooms.recall(house.wax, by=people[number])
        except ActionRefused as error:
            said[number] = error.message
        finally:
            connection.close()

    threads = [threading.Thread(target=begin, args=(number,)) for number in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    recall = Recall.objects.get()
    assert sorted(said) == ["", f"Recall {recall} of lot {house.wax} is open already."]


@pytest.mark.django_db(transaction=True)
def test_two_who_close_at_once_leave_one_report() -> None:
    house = rooms.House()
    recall = rooms.recall(house.tins)
    people = [make.user(), make.user()]
    gate, said = threading.Barrier(2), ["", ""]

    def end(number: int) -> None:
        gate.wait()
        try:
            recalls.close(
                recall,
                cause=f"Cause {number}",
                found={house.tins.pk: Decimal(160 + number)},
                by=people[number],
                at=LATER,
                token=new_token(),
            )
        except ActionRefused as error:
            said[number] = error.message
        finally:
            connection.close()

    threads = [threading.Thread(target=end, args=(number,)) for number in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    closed = Recall.objects.get()
    first = int(closed.cause[-1])
    assert said[first] == ""
    assert said[1 - first] == f"{closed} is closed."
    assert [line.found for line in closed.lines.all()] == [160 + first]
    assert closed.entries.filter(what="closed").count() == 1
