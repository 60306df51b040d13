"""What is in a lot, through the ledger's tree, and which lots count as organic."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests import make
from tests.goods_in import build
from workshop.core.errors import ActionRefused
from workshop.goods_in.bought_lot_organic_status import organic_lots
from workshop.goods_in.lot_composition import composition_of, compositions_of, leaf_composition
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, Lot, OperationKind, Posting, Side, Status
from workshop.materials.models import Constituency
from workshop.materials.services.materials import BlendComponent
from workshop.rules.ingredients.composition import Constituent

pytestmark = pytest.mark.django_db


def made(
    taken: Sequence[tuple[Lot, int]],
    *,
    kind: OperationKind = OperationKind.BATCH,
    outputs: int = 1,
    at: datetime = make.NOON,
) -> list[Lot]:
    """The lots of a batch or packing run that took these lots in."""
    by, run = make.user(), make.operation(kind)
    item = make.item(ItemKind.BULK if kind == OperationKind.BATCH else ItemKind.PRODUCT)
    for lot, grams in taken:
        ledger.post(run, lot, Side.IN, Decimal(grams), by=by, at=at)
    lots = []
    for _ in range(outputs):
        lot = ledger.create_lot(item, origin=run, made_on=at.date(), best_before=None, by=by, at=at)
        ledger.post(run, lot, Side.OUT, Decimal(10), by=by, at=at)
        lots.append(lot)
    return lots


def shares(lot: Lot) -> dict[tuple[str, bool], str]:
    return {
        (part.inci_name, part.is_organic): str(share) for part, share in composition_of(lot).items()
    }


def test_bought_lot_is_its_own_ingredient() -> None:
    oil = build.material("Olive oil", common_name="olive", soap_name="SODIUM OLIVATE")

    lot = build.lot(oil)

    assert composition_of(lot) == {
        Constituent(
            "OLIVE OIL", "olive", soap_name="SODIUM OLIVATE", status="agricultural"
        ): Fraction(1)
    }


def test_bought_blend_is_its_parts_in_exact_shares() -> None:
    blend = build.material(
        parts=[
            BlendComponent("VITAMIN E", Decimal("33.3333")),
            BlendComponent("SUNFLOWER", Decimal("66.6667"), is_organic=True),
        ]
    )

    lot = build.lot(blend, organic_until=build.DAY + build.YEAR)

    assert composition_of(lot) == {
        Constituent("SUNFLOWER", is_organic=True): Fraction(666667, 1000000),
        Constituent("VITAMIN E"): Fraction(333333, 1000000),
    }


def test_lot_received_as_not_organic_counts_as_not_organic() -> None:
    lot = build.lot(build.material("Olive oil", is_organic=True))

    assert shares(lot) == {("OLIVE OIL", False): "1"}


def test_balm_from_an_infusion_weighs_through_both_batches() -> None:
    oil, herb, wax = (build.lot(build.material(name)) for name in ("Oil", "Herb", "Wax"))
    (infusion,) = made([(oil, 80), (herb, 20)])
    (balm,) = made([(infusion, 90), (wax, 30)])

    assert shares(balm) == {
        ("OIL", False): "3/5",
        ("WAX", False): "1/4",
        ("HERB", False): "3/20",
    }


def test_batch_split_into_two_lots_gives_both_the_same_shares() -> None:
    oil, wax = (build.lot(build.material(name)) for name in ("Oil", "Wax"))

    first, second = made([(oil, 30), (wax, 10)], outputs=2)

    assert shares(first) == shares(second) == {("OIL", False): "3/4", ("WAX", False): "1/4"}


def test_reversed_weighing_does_not_count() -> None:
    oil, wax = (build.lot(build.material(name)) for name in ("Oil", "Wax"))
    (balm,) = made([(oil, 30), (wax, 10)])
    posting = Posting.objects.get(lot=wax, side=Side.IN)

    ledger.reverse(posting, by=make.user(), at=make.NOON, reason="Wrong jar.")

    assert shares(balm) == {("OIL", False): "1"}


def test_packed_lot_leaves_tins_and_film_out() -> None:
    (bulk,) = made([(build.lot(build.material("Oil")), 30)])
    tins = build.lot(build.packaging())
    film = make.lot(make.item(ItemKind.PACKAGING, unit="g"))

    (packed,) = made([(bulk, 10), (tins, 5), (film, 3)], kind=OperationKind.PACKING)

    assert shares(packed) == {("OIL", False): "1"}


def test_lot_stays_what_it_was_received_as_when_its_certificate_ends() -> None:
    oil = build.lot(build.material("Oil"), organic_until=build.DAY + timedelta(days=1))

    (late,) = made([(oil, 10)], at=make.NOON + timedelta(days=200))

    assert shares(late) == {("OIL", True): "1"}


def test_composition_knows_what_held_when_the_lot_came_in() -> None:
    scent = build.material("Scent", is_organic=False, status="agricultural")
    build.organic_status(scent, "listed_606", from_day=build.DAY + timedelta(days=1))
    first = build.lot(scent)
    second = build.lot(
        scent, received_on=build.DAY + timedelta(days=1), at=make.NOON + timedelta(days=2)
    )

    assert [part.status for lot in (first, second) for part in composition_of(lot)] == [
        "agricultural",
        "listed_606_unsearched",
    ]


def test_lot_without_a_profile_is_refused_with_a_sentence() -> None:
    lot = make.lot(make.item(name="Mystery powder"))

    with pytest.raises(ActionRefused) as caught:
        composition_of(lot)

    assert caught.value.message == (
        "Mystery powder has no ingredient profile yet; an owner enters it under Materials."
    )


def test_leaf_composition_speaks_of_the_receipt_alone() -> None:
    oil = build.lot(build.material("Oil"), organic_until=build.DAY)

    assert leaf_composition([oil]) == {oil.pk: {Constituent("OIL", is_organic=True): Fraction(1)}}


def test_composition_costs_the_same_queries_at_any_depth() -> None:
    lot = build.lot(build.material("Oil"), organic_until=build.DAY)
    (shallow,) = made([(lot, 10)])
    deep = shallow
    for _ in range(12):
        (deep,) = made([(deep, 10), (build.lot(), 1)])

    counts = []
    for asked in ([shallow], [deep], [shallow, deep]):
        with CaptureQueriesContext(
            connection,
        ) as queries:
            compositions_of(asked)
        counts.append(len(queries))

    assert counts == [6, 6, 6]


def test_usable_lots_come_first_expired_first_without_the_unfit() -> None:
    oil = build.material()
    later = build.lot(oil, makers_expiry=make.day(188))
    sooner = build.lot(oil, makers_expiry=make.day(37))
    build.lot(oil, status=Status.QUARANTINE)
    build.lot(oil, status=Status.ON_HOLD)
    build.lot(oil, makers_expiry=build.DAY)

    lots = oil.lots.available(on=build.DAY + timedelta(days=1))

    assert list(lots) == [sooner, later]


def test_usable_lots_for_an_organic_claim_are_those_received_as_organic() -> None:
    oil = build.material()
    covered = build.lot(oil, organic_until=build.DAY + timedelta(days=9))
    build.lot(oil)

    lots = organic_lots(oil.lots.available(on=build.DAY + timedelta(days=100)))

    assert list(lots) == [covered]


def test_water_and_salt_carry_their_kind() -> None:
    lot = build.lot(build.material("Water", constituency=Constituency.WATER, is_organic=False))

    assert list(composition_of(lot)) == [Constituent("WATER", kind="water")]
