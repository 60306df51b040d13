"""Which lots are proposed: first expired first out, and only what may be used."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests import make
from tests.kettle import build
from workshop.core.errors import ActionRefused
from workshop.goods_in.models import Certificate, Receipt, ReceiptLine, Supplier
from workshop.kettle import services
from workshop.kettle.models import Batch
from workshop.kettle.weighing.lot_selection import Proposal
from workshop.ledger import services as ledger
from workshop.ledger.models import Item, ItemKind, Lot, Side, Status
from workshop.materials.models import Profile

pytestmark = pytest.mark.django_db
SOON, LATER = make.day(67), make.day(432)


def proposals(batch: Batch) -> list[Proposal]:
    return services.proposals(batch, on=make.DAY)


def drawn(proposal: Proposal) -> list[tuple[Lot, Decimal]]:
    return [(pick.lot, pick.take_g) for pick in proposal.picks]


def test_lot_that_expires_first_is_drawn_first_and_the_next_makes_up_the_rest() -> None:
    batch = build.batch()
    item = batch.lines.all()[0].item
    late = make.lot(item, on_hand=1000, best_before=LATER)
    soon = make.lot(item, on_hand=200, best_before=SOON)

    first = proposals(batch)[0]

    assert drawn(first) == [(soon, Decimal(200)), (late, Decimal(300))]
    assert first.short_g == 0


@pytest.mark.parametrize("status", [Status.QUARANTINE])
def test_lot_that_is_not_released_is_not_proposed(status: Status) -> None:
    batch = build.batch()
    make.lot(batch.lines.all()[0].item, status=status)

    first = proposals(batch)[0]

    assert (first.picks, first.short_g) == ([], Decimal(500))


def test_lot_past_its_date_is_not_proposed() -> None:
    batch = build.batch()
    item = batch.lines.all()[0].item
    make.lot(item, made_on=make.day(-693), best_before=make.day(-1))

    assert proposals(batch)[0].picks == []


def test_what_is_short_is_said() -> None:
    batch = build.batch()
    lot = make.lot(batch.lines.all()[0].item, on_hand=120)

    first = proposals(batch)[0]

    assert (drawn(first), first.short_g) == ([(lot, Decimal(120))], Decimal(380))


def test_what_is_weighed_in_is_no_longer_needed() -> None:
    batch = build.batch()
    line = batch.lines.all()[0]
    build.weigh(line, "480")

    assert proposals(batch)[0].need_g == Decimal(20)


def test_line_within_its_tolerance_needs_no_more() -> None:
    batch = build.batch()
    build.weigh(batch.lines.all()[0], "499")

    assert proposals(batch)[0].need_g == 0


def test_in_house_bulk_is_an_input_like_any_other() -> None:
    infusion = make.item(ItemKind.BULK)
    batch = build.batch(build.version([(infusion, "60"), (make.item(), "40")]))
    lot = make.lot(infusion)

    assert drawn(proposals(batch)[0]) == [(lot, Decimal(600))]


def test_substitute_is_offered_beside_and_never_drawn_by_itself() -> None:
    version = build.version(approved=False)
    stand_in = make.item()
    version.lines.all()[0].substitutes.add(stand_in)
    version.status, version.approved_at, version.approved_by = "approved", make.NOON, make.user()
    version.save()
    lot = make.lot(stand_in)

    first = proposals(build.batch(version))[0]

    assert (first.picks, first.instead) == ([], [lot])


def test_proposals_take_the_same_queries_for_one_line_and_for_ten() -> None:
    def queries(count: int) -> int:
        items = [make.item() for _ in range(count)]
        shares = [(item, str(Decimal(100) / count)) for item in items]
        batch = build.batch(build.version(shares, claims_organic=True))
        for item in items:
            make.lot(item)
        with CaptureQueriesContext(
            connection,
        ) as captured:
            proposals(Batch.objects.select_related("version").get(pk=batch.pk))
        return len(captured)

    assert queries(1) == queries(10)


def organic_item() -> Item:
    item = make.item()
    Profile.objects.create(item=item, inci_name="Olea Europaea Fruit Oil", is_organic=True)
    return item


NEXT_YEAR = make.day(401)


def bought(item: Item, *, valid_to: date = NEXT_YEAR, is_organic: bool = True) -> Lot:
    """A lot with its receipt, and a certificate that covers the item until a day."""
    number = Supplier.objects.count()
    supplier = Supplier.objects.create(name=f"Ostrey Oils {number}")
    certificate = Certificate.objects.create(
        supplier=supplier,
        certifier="Evergrain Assurance",
        number=f"EXAMPLE-EG-{number}",
        valid_from=make.day(-693),
        valid_to=valid_to,
    )
    certificate.items.add(item)
    lot = make.lot(item)
    ledger.amend_operation(lot.origin, by=make.user(), at=make.NOON, reason="its papers")
    receipt = Receipt.objects.create(operation=lot.origin, supplier=supplier, received_on=make.DAY)
    ReceiptLine.objects.create(
        receipt=receipt,
        lot=lot,
        posting=lot.postings.get(side=Side.OUT),
        supplier_lot="L-1",
        quantity_as_written="1 kg",
        certificate=certificate if is_organic else None,
        is_organic=is_organic,
    )
    return lot


def organic_batch(item: Item, **values: Any) -> Batch:
    return build.batch(
        build.version([(item, "50"), (make.item(), "50")], claims_organic=True), **values
    )


def test_organic_claim_draws_on_covered_lots_only() -> None:
    item = organic_item()
    bought(item, is_organic=False)
    covered = bought(item)

    assert drawn(proposals(organic_batch(item))[0]) == [(covered, Decimal(500))]


def test_formula_without_the_claim_draws_on_any_lot() -> None:
    item = organic_item()
    lot = bought(item, is_organic=False)
    batch = build.batch(build.version([(item, "50"), (make.item(), "50")]))

    assert drawn(proposals(batch)[0]) == [(lot, Decimal(500))]


def test_uncovered_lot_is_refused_for_an_organic_claim_with_a_way_on() -> None:
    item = organic_item()
    lot = bought(item, is_organic=False)
    line = organic_batch(item).lines.all()[0]

    with pytest.raises(ActionRefused) as refused:
        build.weigh(line, "5", lot=lot)

    assert refused.value.message == (
        f"Lot {lot} did not come in as organic, and this formula claims to be organic. Choose a "
        "lot that did."
    )


def infusion_of(lot: Lot) -> Lot:
    """A bulk made here from one lot and something plain, by a formula without a claim."""
    batch = build.batch(build.version([(lot.item, "50"), (make.item(), "50")]))
    for line in batch.lines.all():
        build.weigh(line, "10", lot=lot if line.item == lot.item else None)
    made = build.pour(batch, "19", note="a small trial")
    build.release(batch, by=build.owner())
    made[0].refresh_from_db()
    return made[0]


def test_bulk_made_from_a_covered_lot_may_go_into_an_organic_batch() -> None:
    infusion = infusion_of(bought(organic_item()))

    assert drawn(proposals(organic_batch(infusion.item))[0]) == [(infusion, Decimal(19))]


def test_bulk_made_from_an_uncovered_lot_may_not_at_any_depth() -> None:
    inner = infusion_of(bought(organic_item(), is_organic=False))
    outer = infusion_of(inner)

    assert proposals(organic_batch(outer.item))[0].picks == []
