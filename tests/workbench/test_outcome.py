"""What one trial comes to, figure by figure; worked by hand."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from tests import make
from tests.costs import build as costs
from tests.goods_in import build as goods
from tests.labels import build as labels
from tests.packing import build as packing
from tests.workbench import build
from workshop.ledger.models import Lot, Status
from workshop.workbench.trial import TriedLine, lines_of

pytestmark = pytest.mark.django_db


def oil_and_wax(months: int | None = None, *, grams: int = 50_000) -> list[Lot]:
    """Two lots at 10 and 20 a kilogram; the wax keeps so long, if that is known."""
    labels.workshop(market="EU")
    costs.rates()
    expiry: dict[str, Any] = {}
    if months is not None:
        expiry["makers_expiry"] = make.day(months=months)
    return [
        build.material("Helianthus Annuus Seed Oil", "10", grams=grams),
        build.material("Cera Alba", "20", **expiry),
    ]


def test_lot_that_limits_the_date_is_named() -> None:
    lots = oil_and_wax(months=4)
    tried = build.shop(lots, ["80", "20"]).outcome()

    assert tried.due == make.day(months=4)
    assert tried.binding_lot == f"lot {lots[1]} of {lots[1].item}"


def test_own_shelf_life_goes_before_lots_that_keep_longer() -> None:
    shop = build.shop(oil_and_wax(months=40), ["80", "20"])
    shop.product.shelf_life_months = 3
    tried = shop.outcome()

    assert (tried.due, tried.binding_lot) == (make.day(months=3), "")


@pytest.mark.parametrize(
    ("grams", "batches"), [(799, 0), (800, 1), (1599, 1), (8000, 10)]
)  # of 800 g a batch
def test_stock_is_told_in_whole_batches_by_what_runs_out_first(grams: int, batches: int) -> None:
    lots = oil_and_wax(grams=grams)
    tried = build.shop(lots, ["80", "20"]).outcome()

    assert tried.batches_in_stock == (batches, lots[0].item)


def test_stock_of_a_chosen_lot_is_its_own_and_of_none_chosen_all_of_them() -> None:
    lots = oil_and_wax(grams=800)
    shop = build.shop(lots, ["80", "20"])
    more = goods.lot(lots[0].item, grams=1600, status=Status.RELEASED)
    first, second = lines_of(shop.trial().version)

    assert shop.outcome().batches_in_stock == (3, lots[0].item)
    chosen = shop.trial(replace(first, lot=more.pk), second)
    assert shop.outcome(chosen).batches_in_stock == (2, lots[0].item)


def test_cost_of_a_gram_counts_the_loss_and_that_of_a_unit_its_tin() -> None:
    """800 g at 10 and 200 g at 20 are 12.00, of which 980 g are poured; a tin is 0.20."""
    shop = build.shop(oil_and_wax(), ["80", "20"])
    tried = shop.outcome()

    assert tried.bulk_cost.amount == Fraction(12) / 980
    assert tried.unit_cost is not None
    assert tried.unit_cost.amount == 60 * Fraction(12) / 980 + Fraction("0.2")
    # Nobody said how long it takes, and an hour costs something: at least so much.
    assert not tried.bulk_cost.is_whole
    timed = shop.outcome(shop.trial(batch_minutes=0, run_minutes=0))
    assert timed.unit_cost is not None
    assert (timed.bulk_cost.amount, timed.unit_cost.amount) == (
        tried.bulk_cost.amount,
        tried.unit_cost.amount,
    )
    assert timed.bulk_cost.is_whole
    assert timed.unit_cost.is_whole


def test_nothing_is_packed_without_a_fill_or_where_the_batch_fills_no_unit() -> None:
    shop = build.shop(oil_and_wax(), ["80", "20"])

    for trial in (shop.trial(fill_g=None), shop.trial(fill_g=Decimal(1000))):
        assert shop.outcome(trial).unit_cost is None
        assert shop.outcome(trial).margins == []
    just = shop.trial(fill_g=Decimal(980))
    assert just.units == 1
    assert shop.outcome(just).unit_cost is not None


def test_margin_is_what_is_left_of_each_price_of_this_product_by_channel() -> None:
    shop = build.shop(oil_and_wax(), ["80", "20"])
    costs.price(shop.product.item, "10", "web shop")
    costs.price(shop.product.item, "6", "market")
    costs.price(packing.product().item, "3", "web shop")
    tried = shop.outcome()

    assert tried.unit_cost is not None
    unit = tried.unit_cost.amount
    assert [(one.channel, one.price, one.percent) for one in tried.margins] == [
        ("market", Decimal(6), 100 * (6 - unit) / 6),
        ("web shop", Decimal(10), 100 * (10 - unit) / 10),
    ]
    assert shop.outcome(replace(shop.trial(), product=None)).margins == []


def test_minutes_cost_what_an_hour_costs() -> None:
    """30 an hour: twenty minutes are 10, over 980 g."""
    shop = build.shop(oil_and_wax(), ["80", "20"])
    unsaid, said = shop.outcome(), shop.outcome(shop.trial(batch_minutes=20, run_minutes=10))

    assert said.bulk_cost.amount - unsaid.bulk_cost.amount == Fraction(10, 980)
    assert unsaid.unit_cost is not None
    assert said.unit_cost is not None
    # Ten minutes of packing are 5, over the 16 units that 980 g fill.
    more = said.unit_cost.amount - unsaid.unit_cost.amount
    assert more == 60 * Fraction(10, 980) + Fraction(5, 16)


def test_salve_is_no_soap_and_what_holds_lye_is() -> None:
    lots = oil_and_wax()
    shop = build.shop(lots, ["80", "20"])
    lye = goods.material(
        "Lye", inci_name="Sodium Hydroxide", constituency="alkali", is_organic=False
    )
    lines = lines_of(shop.trial().version)
    soap = shop.outcome(shop.trial(*lines, TriedLine(lye, Decimal(10)))).soap

    assert shop.outcome().soap is None
    assert soap is not None
    assert soap.alkali


def test_other_fill_is_that_of_the_product_that_is_tried_alone() -> None:
    shop = build.shop(oil_and_wax(), ["80", "20"])
    usual, other = shop.outcome(), shop.outcome(shop.trial(fill_g=Decimal(30)))

    assert usual.product == other.product == shop.product
    fills = [one.product.fill_g for one in (usual, other) if one.product]
    assert fills == [60, 30]
    assert shop.product.fill_g == 60  # the real one stays
    small = packing.product(bulk=shop.bulk)
    for tried in (usual, other):
        assert "60 g" in tried.wording(small, "EU").net_contents
    assert "30 g" in other.wording(shop.product, "EU").net_contents
    assert usual.markets
    assert shop.outcome(replace(shop.trial(), product=None)).markets == ["EU"]


def test_what_is_rinsed_off_is_judged_so() -> None:
    shop = build.shop(oil_and_wax(), ["80", "20"])
    assert shop.outcome().use == "leave-on"
    trial = shop.trial()
    trial.version.is_rinse_off = True
    assert shop.outcome(trial).use == "rinse-off"
