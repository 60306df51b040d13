"""Units out of their packs again: bars to be grated, salve to be melted, with all that follows."""

from datetime import timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django.asserts import assertContains, assertRedirects

from tests import make
from tests.costs import build as costs
from tests.formulas import build as formulas
from tests.goods_in import build as goods
from tests.kettle import build as kettle
from tests.packing import build
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.costs.values.lot_values import values_of
from workshop.goods_in.lot_composition import composition_of
from workshop.kettle import services as kettle_services
from workshop.kettle.models import Batch
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Operation, Status
from workshop.ledger.proof.checks import run_checks
from workshop.ledger.stock_queries import balance
from workshop.organic.balance.overview import chain
from workshop.organic.balance.query import Period
from workshop.packing import services
from workshop.packing.services import retained_samples
from workshop.trace.lot.query import trace

pytestmark = pytest.mark.django_db
TODAY = Period(make.DAY, make.DAY)


def unpacked(lot: Lot, units: int = 10, grams: str = "590", **values: Any) -> Lot:
    values = {"reason": "dull edges", "by": make.user(), "at": make.NOON, **values}
    values.setdefault("token", new_token())
    return services.unpack(lot, Decimal(units), Decimal(grams), **values)


def test_units_are_bulk_again_and_go_into_a_kettle_with_all_that_follows() -> None:
    costs.rates()
    oil = goods.lot(
        goods.material("Sunflower oil", inci_name="Helianthus Annuus Seed Oil"),
        organic_until=make.day(200),
    )
    wax = goods.lot(goods.material("Beeswax", inci_name="Cera Alba"))
    for bought in (oil, wax):
        make.dated(bought, make.day(200))
        costs.paid(bought, "10")
    version = formulas.approved(
        formulas.line(75, oil.item), formulas.line(25, wax.item), rework_limit=Decimal(50)
    )

    def filled() -> Batch:
        batch = kettle.batch(version)
        for line in batch.lines.select_related("item"):
            kettle.weigh(line, lot=oil if line.item == oil.item else wax)
        return Batch.objects.get(pk=batch.pk)

    first = filled()
    (bulk,) = kettle.pour(first, "980")
    kettle.release(Batch.objects.get(pk=first.pk))
    bulk.refresh_from_db()
    product = build.product(bulk=bulk.item, claims_organic=True)
    tins = make.put(build.packed(product, 10, bulk=bulk), Status.RELEASED)
    assert chain(TODAY).made == 10 * 60 * 750

    made = unpacked(tins, 4, "236.5")

    assert (made.item, made.status, made.best_before) == (
        bulk.item,
        Status.QUARANTINE,
        tins.best_before,
    )
    assert composition_of(made) == composition_of(bulk)
    held = balance(tins)
    assert [held.came_in, held.used, held.on_hand, held.unaccounted] == [10, 4, 6, 0]
    # They are sold as organic units no more; three quarters of what they hold were organic.
    assert chain(TODAY).made == 6 * 60 * 750
    # All that four tins cost is in what came out of them.
    cost = values_of({made.pk, tins.pk}).of
    assert cost(made.pk).amount * Fraction("236.5") == cost(tins.pk).amount * 4

    made = ledger.set_lot_status(made, Status.RELEASED, by=make.user(), at=make.NOON)
    again = filled()
    kettle_services.add_unplanned(
        again, made.item, made, Decimal("236.5"), reason="melted again", scale=again.scale,
        by=make.user(), at=make.NOON, token=new_token(),
    )  # fmt: skip
    (next_bulk,) = kettle.pour(Batch.objects.get(pk=again.pk), "1200")
    assert {one.lot.pk for one in trace(tins).products} == {made.pk, next_bulk.pk}
    assert {tins.pk, bulk.pk, made.pk} <= {one.lot.pk for one in trace(next_bulk).made_here}
    assert composition_of(next_bulk) == composition_of(bulk)
    assert [found.problems for found in run_checks() if found.problems] == []


def test_same_form_again_unpacks_once() -> None:
    lot = make.put(build.packed(), Status.RELEASED)

    first, second = (unpacked(lot, token="once") for _ in range(2))

    assert first == second
    assert ledger.on_hand(lot) == 30


def refused(lot: Lot, match: str, *figures: Any, **values: Any) -> None:
    before = Operation.objects.count()
    with pytest.raises(ActionRefused, match=match):
        unpacked(lot, *figures, **values)
    assert Operation.objects.count() == before


def test_what_was_stopped_or_is_past_or_is_not_there_is_not_unpacked() -> None:
    lot = make.put(build.packed(), Status.RELEASED)
    retained_samples.retain(
        lot, Decimal(3), place="cupboard", by=make.user(), at=make.NOON, token="kept"
    )
    refused(lot, "37 may be unpacked; 3 more are retained", 38, "2000")
    refused(lot, "cannot have come out of them", 10, "750.001")
    assert unpacked(lot, 10, "750").item == lot.item.product.bulk
    refused(make.put(lot, Status.ON_HOLD), "on hold")
    refused(make.put(build.packed(), Status.REJECTED), "rejected")
    past = make.dated(make.put(build.packed(), Status.RELEASED), make.day(0))
    refused(past, "Write it off", at=make.NOON + timedelta(days=2))


def test_what_was_unpacked_waits_while_its_units_are_on_hold() -> None:
    lot = build.packed()
    made = unpacked(lot)
    make.put(lot, Status.ON_HOLD)

    with pytest.raises(ActionRefused, match="on hold; decide about that one first"):
        ledger.set_lot_status(made, Status.RELEASED, by=make.user(), at=make.NOON)


def test_page_says_what_became_of_the_units(client: Client) -> None:
    lot = make.put(build.packed(made_on=make.day()), Status.RELEASED)
    client.force_login(make.user(Role.PACKER))
    address = reverse("packing:unpack", args=[lot.code])
    figures = {"units": "5", "grams": "296", "reason": "wrong lids", "token": "form"}

    assertContains(client.get(reverse("ledger:lot", args=[lot.code])), address)
    assertContains(client.post(address, figures | {"units": "99"}), "40 may be unpacked")
    done = client.post(address, figures)

    made = Lot.objects.get(origin__kind="unpacking")
    assertRedirects(done, reverse("ledger:lot", args=[made.code]), fetch_redirect_response=False)
    page = client.get(reverse("ledger:lot", args=[made.code]))
    assertContains(page, "Once an owner has released it")
    assertContains(page, f"Out of 5 of lot {lot}: wrong lids")
    assertContains(
        client.get(reverse("front:scan"), {"q": made.origin.reference}, follow=True), lot.shown_code
    )
