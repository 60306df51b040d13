"""The week: what is short is made in time, from lots that are there, and accepted as seen."""

from datetime import timedelta
from decimal import Decimal

import pytest

from tests import make
from tests.costs import build as costs
from tests.dispatch import build as dispatch
from tests.kettle import build as kettle
from tests.packing import build as packing
from tests.planning import build
from workshop.core.errors import ActionRefused
from workshop.core.saving.new_tokens import new_token
from workshop.kettle.models import Batch, BatchState
from workshop.ledger.models import ItemKind
from workshop.planning import services
from workshop.planning.models import PlannedBatch, PlannedRun, Reservation
from workshop.planning.orders.open_orders import customer_lines
from workshop.planning.week.jobs import Changes
from workshop.planning.week.planner import propose
from workshop.planning.week.proposal import Proposal

pytestmark = pytest.mark.django_db


def week(changes: Changes | None = None) -> Proposal:
    return propose(monday=build.monday(), today=make.DAY, changes=changes)


def accepted(proposal: Proposal, changes: Changes | None = None, token: str = "") -> None:
    services.accept_week(
        monday=proposal.frame.monday,
        today=make.DAY,
        changes=changes or Changes(),
        mark=proposal.mark,
        by=make.user(),
        at=make.NOON,
        token=token or new_token(),
    )


def test_what_nobody_wants_is_not_made() -> None:
    build.shop()
    assert week().rows == []


def test_an_order_is_made_poured_and_packed_before_its_day() -> None:
    shop = build.shop()
    build.order(shop, 30)
    found = week()
    (batch,) = found.batches
    # 30 tins of 50 g, and 4 % are lost: 1562.5 g on a scale of half grams.
    assert batch.amount == Decimal("1562.5")
    assert {lot.pk: amount for lot, amount in batch.draws} == {
        shop.lots["oil"].pk: Decimal("1250"),
        shop.lots["wax"].pk: Decimal("312.5"),
    }
    (run,) = found.runs
    assert run.amount == 30
    assert batch.day < run.day <= build.monday() + timedelta(days=4)
    assert any("30 Salve 50 g are ordered for" in one for one in batch.why)


def test_what_is_packed_already_is_made_no_more() -> None:
    shop = build.shop()
    packing.packed(shop.product, units=30)
    build.order(shop, 30)
    # They are in quarantine, and likely to be released.
    assert week().rows == []


def test_a_minimum_stock_is_kept() -> None:
    shop = build.shop()
    build.terms(shop.product.item, minimum_stock=Decimal(12))
    (batch,) = week().batches
    assert batch.amount == Decimal(625)
    assert any("falls below its 12 in stock" in one for one in batch.why)


def test_bulk_that_is_there_is_packed_first() -> None:
    shop = build.shop()
    make.lot(shop.bulk, on_hand=1000)
    build.order(shop, 20)
    found = week()
    assert found.batches == []
    assert [run.amount for run in found.runs] == [20]


def test_a_batch_is_no_larger_than_its_scarcest_material_allows() -> None:
    shop = build.shop(wax_g=200)
    build.order(shop, 30)
    found = week()
    (batch,) = found.batches
    assert batch.amount < 1000
    assert sum(amount for lot, amount in batch.draws if lot.item == shop.wax) <= 200
    assert any("Beeswax is all there is" in one for one in batch.why)


def test_more_than_a_kettle_holds_is_made_in_alike_batches() -> None:
    shop = build.shop(oil_g=9000, wax_g=3000)
    build.order(shop, 80)
    found = week()
    assert [batch.amount for batch in found.batches] == [Decimal("2083.5")] * 2
    assert len({batch.day for batch in found.batches}) == 2


def test_without_its_material_it_stays_undone_and_says_so() -> None:
    shop = build.shop(wax_g=0)
    build.order(shop, 30)
    found = week()
    assert found.rows == []
    assert [one.why for one in found.undone] == ["Not enough of Beeswax: see what to order."]


def test_what_is_expected_in_the_week_is_waited_for() -> None:
    shop = build.shop(wax_g=0)
    build.order(shop, 30, due_on=build.monday() + timedelta(days=6))
    days = (build.monday() - make.DAY).days + 1
    build.purchase(shop.wax, 1000, days=days)
    (batch,) = week().batches
    assert batch.day > build.monday() + timedelta(days=1)
    assert any("Waits for Beeswax" in one for one in batch.why)


def test_soap_is_poured_its_cure_ahead_and_needs_room_on_a_rack() -> None:
    shop = build.shop(cure_days=28)
    build.order(shop, 20, due_on=build.monday() + timedelta(days=33))
    (batch,) = week().batches
    assert batch.day <= build.monday() + timedelta(days=4)
    build.hours(racks_hold_g=Decimal(500))
    found = week()
    assert found.batches == []
    assert [one.why for one in found.undone] == ["No rack has room for it."]


def test_unscented_is_made_before_scented_in_the_same_kettle() -> None:
    shop = build.shop()
    scent = build.fragrance(make.item(name="Oil of mint"))
    make.lot(scent, on_hand=500)
    bulk = make.item(ItemKind.BULK, name="Mint salve")
    kettle.version([(shop.oil, "98"), (scent, "2")], of=kettle.formula(bulk))
    mint = packing.product(
        bulk=bulk, container=shop.tin, fill_g=Decimal(50), name="Mint salve 50 g"
    )
    last = build.monday() + timedelta(days=4)
    build.order(shop, 10, due_on=last, product=mint)
    build.order(shop, 10, due_on=last, number="W-2")
    found = week()
    assert [str(batch.item) for batch in found.batches] == ["Salve", "Mint salve"]
    assert found.score.cleanings == 0


def test_a_changed_day_and_amount_stand_and_the_rest_follows() -> None:
    shop = build.shop()
    build.order(shop, 30)
    (batch,) = week().batches
    changes = Changes({batch.key: 2}, {batch.key: Decimal(2000)})
    found = week(changes)
    (changed,) = found.batches
    assert changed.day == build.monday() + timedelta(days=2)
    assert changed.amount == 2000
    (run,) = found.runs
    assert run.day > changed.day
    assert week(Changes(without=frozenset({batch.key}))).batches == []


def test_a_batch_takes_the_minutes_that_past_ones_took_or_the_owner_says() -> None:
    shop = build.shop()
    build.order(shop, 30)
    usual = week().batches[0].minutes
    costs.rates()
    costs.minutes(kettle.poured(shop.version).operation, 75)
    assert (usual, week().batches[0].minutes) == (120, 75)
    build.terms(shop.bulk, usual_minutes=45)
    build.terms(shop.product.item, usual_minutes=25)
    found = week()
    assert [found.batches[0].minutes, found.runs[0].minutes] == [45, 25]


def test_an_accepted_week_is_planned_at_the_kettle_and_its_lots_are_reserved() -> None:
    shop = build.shop()
    build.order(shop, 30)
    found, token = week(), new_token()
    accepted(found, token=token)
    accepted(found, token=token)  # sent twice
    batch = Batch.objects.get()
    assert (batch.state, batch.target_g) == (BatchState.PLANNED, Decimal("1562.5"))
    assert PlannedBatch.objects.get().day == found.batches[0].day
    assert {row.lot_id: row.quantity for row in Reservation.objects.standing()} == {
        shop.lots["oil"].pk: 1250,
        shop.lots["wax"].pk: Decimal("312.5"),
    }
    assert PlannedRun.objects.get().units == 30
    after = week()
    assert after.rows == []
    assert [one.batch for one in after.standing] == [batch]


def test_what_is_reserved_is_promised_to_no_other_batch() -> None:
    shop = build.shop(wax_g=400)
    build.order(shop, 30)
    accepted(week())
    build.order(shop, 30, number="W-2")
    # 87.5 g of wax are left, for 437.5 g at most.
    (batch,) = week().batches
    assert batch.amount <= Decimal("437.5")
    assert [lot.pk for lot, _ in batch.draws if lot.item == shop.wax] == [shop.lots["wax"].pk]


def test_a_page_that_became_old_is_not_accepted() -> None:
    shop = build.shop()
    build.order(shop, 30)
    seen = week()
    build.order(shop, 5, number="W-2")
    with pytest.raises(ActionRefused, match="have changed since"):
        accepted(seen)
    assert not Batch.objects.exists()


def test_a_planned_run_is_done_once_one_was_begun() -> None:
    shop = build.shop()
    make.lot(shop.bulk, on_hand=1000)
    build.order(shop, 20)
    accepted(week())
    assert [one.run.units for one in week().standing_runs] == [20]
    packing.packed(shop.product, units=20)
    assert week().standing_runs == []


def test_orders_are_used_up_by_dispatches() -> None:
    shop = build.shop()
    lot = make.lot(shop.product.item, on_hand=50)
    build.order(shop, 30)
    dispatch.sent((lot, 30), to=shop.customer, customer_reference="W-1")
    assert [line.open_units for line in customer_lines()] == [0]
