"""Packing: what a run takes and puts out, its date, and what it refuses."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone

from tests import make
from tests.packing import build
from workshop.core.errors import Refused
from workshop.core.models import Role
from workshop.ledger import services as ledger
from workshop.ledger.models import Kind, Lot, Operation, Posting, Side, Status
from workshop.ledger.tree import links_back
from workshop.packing import services
from workshop.packing.models import PackingRun, Product

pytestmark = pytest.mark.django_db


def test_run_takes_bulk_and_tins_and_leaves_the_rest_in_their_lots() -> None:
    product = build.product()
    bulk = make.lot(product.bulk, on_hand=2500)
    tins = make.lot(product.container, on_hand=100)

    lot = build.packed(product, 40, bulk=bulk, containers=tins)

    assert [ledger.on_hand(each) for each in (lot, bulk, tins)] == [40, 100, 60]
    assert lot.status == Status.QUARANTINE
    assert {link.source_id for link in links_back([lot.pk])} == {bulk.pk, tins.pk}


def test_run_is_closed_and_its_seal_says_what_was_packed() -> None:
    lot = build.packed(units=40, spoiled=2, note="one tin dented")

    assert lot.origin.is_closed or Operation.objects.get(pk=lot.origin_id).is_closed
    record = lot.origin.seals.get().record
    assert '"units":40' in record
    assert '"spoiled":2' in record
    assert '"note":"one tin dented"' in record


def test_spoiled_tins_leave_the_book_without_becoming_units() -> None:
    product = build.product()
    tins = make.lot(product.container, on_hand=100)

    lot = build.packed(product, 40, containers=tins, spoiled=3)

    assert ledger.on_hand(tins) == 57
    assert ledger.on_hand(lot) == 40


def test_three_half_ounce_tins_come_from_a_46_gram_melt_with_some_left() -> None:
    # Common practice, no source: 37.3 g of solid oil, 5.2 g of wax and 3.6 g of liquid oil.
    melt = Decimal("37.3") + Decimal("5.2") + Decimal("3.6")
    product = build.product(fill_g=Decimal("14.175"))
    bulk = make.lot(product.bulk, on_hand=melt)

    lot = build.packed(product, 3, bulk=bulk)

    assert melt == Decimal("46.1")
    assert ledger.on_hand(lot) == 3
    assert ledger.on_hand(bulk) == Decimal("3.575")


def test_best_before_is_the_earliest_of_shelf_life_and_all_lots_used() -> None:
    product = build.product(shelf_life_months=12)
    early, late = date(2027, 6, 30), date(2028, 1, 31)
    old = make.lot(product.bulk, best_before=early)
    new = make.lot(product.bulk, best_before=late)

    from_both = build.packed(product, 20, bulk=[(old, Decimal(600)), (new, Decimal(600))])
    from_new = build.packed(product, 10, bulk=new)

    assert (from_both.best_before, from_new.best_before) == (early, date(2027, 11, 25))


def test_a_container_with_a_date_limits_the_lot_too() -> None:
    product = build.product(shelf_life_months=24)
    tins = make.lot(product.container, best_before=date(2027, 2, 1))

    assert build.packed(product, 10, containers=tins).best_before == date(2027, 2, 1)


def test_book_short_of_bulk_is_recorded_and_stands_below_zero() -> None:
    product = build.product()
    bulk = make.lot(product.bulk, on_hand=2000)

    lot = build.packed(product, 40, bulk=bulk)

    assert ledger.on_hand(lot) == 40
    assert ledger.on_hand(bulk) == -400


def test_same_token_packs_once() -> None:
    product = build.product()
    bulk, tins = make.lot(product.bulk, on_hand=5000), make.lot(product.container)

    first = build.packed(product, 40, bulk=bulk, containers=tins, token="t")
    again = build.packed(product, 40, bulk=bulk, containers=tins, token="t")

    assert first == again
    assert ledger.on_hand(bulk) == 2600
    with pytest.raises(Refused, match="already used with other figures"):
        build.packed(product, 41, bulk=bulk, containers=tins, token="t")


def test_lots_entered_twice_are_added_up() -> None:
    product = build.product()
    bulk = make.lot(product.bulk, on_hand=5000)

    build.packed(product, 20, bulk=[(bulk, Decimal(700)), (bulk, Decimal(500))])

    assert ledger.on_hand(bulk) == 3800
