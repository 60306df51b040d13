"""A date that changes far up the tree reaches every lot made from it."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse
from pytest_django.asserts import assertContains, assertNotContains

from tests import make
from tests.kettle import build
from tests.packing import build as packing
from workshop.core.database import triggers
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.front.dashboard_lists import WATCH_OF
from workshop.kettle import services
from workshop.kettle.models import Batch
from workshop.ledger import services as ledger
from workshop.ledger.inherited_best_before import due_dates
from workshop.ledger.models import Item, ItemKind, Lot, Status
from workshop.ledger.proof.dates import check_dates
from workshop.packing import services as packing_services
from workshop.packing.queries import date_reasons

pytestmark = pytest.mark.django_db

LONG, SHORT = make.DAY + timedelta(days=358), make.DAY + timedelta(days=67)
LONGER = LONG + timedelta(days=4)


class Workroom:
    """Infused oil, the salve made of it, and the tins of the salve."""

    def __init__(self) -> None:
        self.oil = make.lot(best_before=LONG)
        self.infused = make.item(ItemKind.BULK)
        self.infusion_of, self.infusion = self.melt(self.oil.item, self.oil, 400)
        self.salve_of, self.salve = self.melt(self.infusion.item, self.infusion, 300)
        product = packing.product(bulk=self.salve.item)
        self.tins = packing.packed(product, 2, bulk=self.salve)

    def melt(self, item: Item, lot: Lot, grams: int) -> tuple[Batch, Lot]:
        batch = build.batch(build.version([(item, "100")]), target_g=str(grams))
        build.weigh(batch.lines.get(), lot=lot)
        (made,) = build.pour(batch, str(grams - 20))
        build.release(batch)
        return Batch.objects.get(pk=batch.pk), Lot.objects.get(pk=made.pk)

    def release_tins(self) -> None:
        packing_services.release(self.tins, by=make.user(), at=make.NOON, reason="on paper")

    def redate(self, best_before: date | None) -> None:
        owner, why = make.user(), "the maker's sheet says so"
        ledger.change_best_before(self.oil, best_before, by=owner, at=make.NOON, reason=why)

    def dates(self) -> list[date | None]:
        return [self.now(lot).best_before for lot in (self.infusion, self.salve, self.tins)]

    def statuses(self) -> list[str]:
        return [self.now(lot).status for lot in (self.infusion, self.salve, self.tins)]

    def now(self, lot: Lot) -> Lot:
        return Lot.objects.get(pk=lot.pk)


@pytest.fixture
def room() -> Workroom:
    return Workroom()


def test_earlier_date_reaches_infusion_salve_and_tins(room: Workroom) -> None:
    assert room.dates() == [LONG, LONG, LONG]

    room.redate(SHORT)

    assert room.dates() == [SHORT, SHORT, SHORT]
    change = room.tins.date_changes.get()
    assert (change.was, change.now) == (LONG, SHORT)
    assert str(room.oil) in change.reason
    assert "the maker's sheet says so" in change.reason


def test_what_was_released_with_a_date_now_too_late_is_held_until_an_owner_decides(
    room: Workroom,
) -> None:
    room.redate(SHORT)

    # The tins were not released yet: they only move.
    assert room.statuses() == [Status.ON_HOLD, Status.ON_HOLD, Status.QUARANTINE]
    held = room.salve.status_changes.last()
    assert held is not None
    assert held.reason.startswith("Released with ")
    assert f"Lot {room.oil} ({room.oil.item}), which went into it" in held.reason


def test_later_date_moves_the_whole_tree_and_stops_nothing(room: Workroom) -> None:
    room.release_tins()

    room.redate(LONGER)

    assert room.dates() == [LONGER, LONGER, LONGER]
    assert room.statuses() == [Status.RELEASED] * 3


def test_date_that_was_over_before_it_was_used_leaves_the_day_it_was_made(room: Workroom) -> None:
    ledger.change_best_before(
        room.oil, room.oil.made_on, by=make.user(), at=make.NOON, reason="misread"
    )

    assert room.dates() == [lot.made_on for lot in (room.infusion, room.salve, room.tins)]


def test_taking_a_weighing_back_in_an_amended_batch_moves_the_tins(room: Workroom) -> None:
    """Amend, put the right lot in: the date that falls falls for all that was made."""
    room.release_tins()
    owner = build.owner()
    services.close_batch(room.infusion_of, by=owner, at=make.NOON)
    services.amend_batch(room.infusion_of, by=owner, at=make.NOON, reason="another drum")
    line = room.infusion_of.lines.get()

    build.weigh(line, lot=make.lot(line.item, best_before=SHORT), note="the drum it was")
    services.undo_reading(
        line.weighings.order_by("pk")[0],
        by=owner,
        at=make.NOON,
        reason="another drum",
        token=new_token(),
    )

    assert room.dates() == [SHORT, SHORT, SHORT]
    assert room.statuses() == [Status.QUARANTINE, Status.ON_HOLD, Status.ON_HOLD]


def test_shelf_life_of_a_product_changed_later_moves_no_lot_that_was_packed(
    room: Workroom,
) -> None:
    product = room.tins.item.product
    product.shelf_life_months = 1
    product.save()

    assert check_dates().is_sound
    assert date_reasons(room.now(room.tins))[0].day == LONG


def test_book_is_sound_before_and_after_and_names_a_date_that_does_not_follow(
    room: Workroom,
) -> None:
    assert check_dates().is_sound
    room.redate(SHORT)
    found = check_dates()
    assert (found.is_sound, found.looked_at) == (True, 3)

    triggers.remove(connection)
    Lot.objects.filter(pk=room.infusion.pk).update(best_before=LONG)

    assert any(str(room.infusion) in problem for problem in check_dates().problems)
    assert len(check_dates().problems) == 1


def test_date_that_follows_is_worked_out_from_the_root(room: Workroom) -> None:
    triggers.remove(connection)
    for lot, stale in ((room.oil, SHORT), (room.infusion, LONG)):
        Lot.objects.filter(pk=lot.pk).update(best_before=stale)

    assert due_dates([room.tins.pk, room.oil.pk]) == {room.tins.pk: SHORT, room.oil.pk: SHORT}


def test_reversed_packing_run_keeps_its_date(room: Workroom) -> None:
    run = packing.run_of(room.tins)
    packing_services.void_run(run, by=make.user(), at=make.NOON, reason="written twice")

    room.redate(SHORT)

    assert room.dates() == [SHORT, SHORT, LONG]
    assert check_dates().is_sound


def test_today_and_the_lot_say_what_to_decide(room: Workroom) -> None:
    room.release_tins()
    room.redate(SHORT)
    client = Client()
    client.force_login(make.user(Role.OWNER))

    page = client.get(reverse("ledger:lot", args=[room.tins.code]))

    waiting = list(WATCH_OF["awaiting"].rows(make.DAY))
    assert {room.infusion, room.salve, room.tins} <= set(waiting)
    assert all(lot.last_reason.startswith("Released with") for lot in waiting)
    assertContains(page, "on hold until an owner decides")
    assertContains(page, reverse("labels:label", args=[room.tins.code]))
    assertContains(client.get(reverse("front:today")), reverse("front:watch", args=["awaiting"]))
    assertContains(client.get(reverse("front:watch", args=["awaiting"])), str(room.tins))
    assertNotContains(
        client.get(reverse("ledger:lot", args=[room.oil.code])), "until an owner decides"
    )


def test_lot_that_is_all_sold_is_told_today_too(room: Workroom) -> None:
    room.release_tins()
    words: dict[str, Any] = {"by": make.user(), "at": make.NOON, "reason": "gone", "token": "gone"}
    ledger.count_lot(room.tins, Decimal(0), **words)

    room.redate(SHORT)

    assert room.tins in list(WATCH_OF["awaiting"].rows(make.DAY))
