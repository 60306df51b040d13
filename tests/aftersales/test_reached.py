"""Accounted for is not reached: who stands for many, who has no contact, who has heard."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from tests import make
from tests.dispatch import build as dispatch
from tests.trace import rooms
from workshop.aftersales.models import RecallEntry
from workshop.aftersales.recalls.scope import scope_of, scope_of_lot
from workshop.aftersales.services.recall_terms import set_terms
from workshop.core.errors import ActionRefused
from workshop.core.saving.new_tokens import new_token
from workshop.dispatch.models import Customer

pytestmark = pytest.mark.django_db


def test_neither_recall_nor_drill_is_whole_while_buyers_cannot_be_reached() -> None:
    house = rooms.House()
    house.stands_for_many()
    drill = rooms.recall(house.tins, is_drill=True)
    before, running = scope_of_lot(house.tins), scope_of(drill)
    closed = rooms.close(drill, {house.tins: 162})

    for reach in (before, running, scope_of(closed)):
        assert [int(units) for units in (reach.missing, reach.unreachable)] == [0, 300]
        assert [int(units) for units in (reach.units_reached, reach.units_out)] == [18, 318]
        assert reach.percent == Decimal("37.50")  # 180 of 480
        assert reach.percent_reached == Decimal("5.66")  # 18 of 318
    assert closed.gaps == (
        "Ostrell Larder stands for many buyers: of 300 units still out, the buyers of 300 are not"
        " named."
    )


def test_customer_without_any_contact_is_neither_accounted_for_nor_reached() -> None:
    house = rooms.House()
    Customer.objects.filter(pk=house.spa.pk).update(email="")

    reach = scope_of_lot(house.tins)

    assert reach.unreachable == 18
    assert reach.percent == Decimal("96.25")  # 462 of 480
    assert reach.percent_reached == Decimal("94.34")  # 300 of 318


def test_recall_counts_who_was_notified_apart_from_who_responded() -> None:
    house = rooms.House()
    recall = rooms.recall(house.tins)
    assert scope_of(recall).percent_reached == Decimal("0.00")
    house.talk(recall, house.shop, "told")
    house.talk(recall, house.spa, "not_reached")

    reach = scope_of(recall)

    assert (reach.told, reach.answered) == (1, 0)
    assert (reach.percent, reach.percent_reached) == (Decimal("100.00"), Decimal("94.34"))


def test_closed_recall_keeps_what_was_reached_whatever_becomes_of_its_customers() -> None:
    house = rooms.House()
    recall = rooms.recall(house.tins)
    house.talk(recall, house.shop, "told")
    house.talk(recall, house.spa, "told")
    closed = rooms.close(recall, {house.tins: 162})

    house.stands_for_many()

    reach = scope_of(closed)
    assert (reach.percent, reach.percent_reached) == (Decimal("100.00"), Decimal("100.00"))


def test_units_of_buyers_belong_to_customers_who_stand_for_many() -> None:
    house = rooms.House()
    house.stands_for_many()
    recall, drill = rooms.recall(house.tins), rooms.recall(house.tins, is_drill=True)
    ten: dict[str, Any] = {"buyers_units": Decimal(10)}

    with pytest.raises(ActionRefused, match="Tollen Baths does not stand for many buyers"):
        house.talk(recall, house.spa, "told", **ten)
    with pytest.raises(ActionRefused, match="Nobody was reached, so no buyers either"):
        house.talk(recall, house.shop, "not_reached", **ten)
    with pytest.raises(ActionRefused, match="Only in a drill"):
        house.talk(recall, house.shop, "listed", **ten)
    with pytest.raises(ActionRefused, match="Only in a drill"):
        house.talk(drill, house.spa, "listed")
    house.talk(drill, house.shop, "listed", **ten)
    assert scope_of(drill).units_reached == 28


def test_customer_with_nothing_left_owes_no_answer() -> None:
    house = rooms.House()
    recall = rooms.recall(house.tins)
    house.talk(recall, house.shop, "told")
    house.talk(recall, house.spa, "told")
    dispatch.back(house.to_spa, (house.tins, 18))

    assert rooms.close(recall, {house.tins: 180}).gaps == (
        "Notified, no response yet: Ostrell Larder."
    )


@pytest.mark.parametrize("what", ["told", "answered", "not_reached", "noted", "terms"])
def test_log_keeps_no_entry_without_words(what: str) -> None:
    house = rooms.House()
    recall = rooms.recall(house.tins)
    customer = house.shop if what in ("told", "answered", "not_reached") else None

    with pytest.raises(IntegrityError), transaction.atomic():
        RecallEntry.objects.create(
            recall=recall, customer=customer, what=what, words="", at=make.NOON, by=make.user(),
            token=new_token(),
        )  # fmt: skip


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"classed_by": "The state"}, "on which day"),
        ({"classed_on": make.DAY}, "Name the authority"),
        ({"classed_by": "The state", "classed_on": make.DAY, "hazard": ""}, "Choose the class"),
        ({"classed_by": "The state", "classed_on": make.DAY + timedelta(days=1)}, "in the future"),
    ],
)
def test_class_is_assigned_by_somebody_on_a_day(values: dict[str, Any], sentence: str) -> None:
    recall = rooms.recall(rooms.House().tins)
    usual = {"hazard": "2", "depth": "retail", "level": "A", "words": "By letter"}

    with pytest.raises(ActionRefused, match=sentence):
        set_terms(recall, by=make.user(), at=make.NOON, token=new_token(), **{**usual, **values})
    assert not recall.entries.filter(what="terms").exists()
