"""Limits met exactly: the last good day, the warmest allowed, the last day of a certificate."""

from datetime import date, timedelta

import pytest

from tests import make
from tests.goods_in import build
from workshop.core.errors import ActionRefused
from workshop.goods_in import services
from workshop.goods_in.models import Certificate, ReceiptLine
from workshop.goods_in.organic_certification import covers_of, usable_lots
from workshop.ledger.models import Lot, Status

pytestmark = pytest.mark.django_db

DAY = make.DAY
ONE = timedelta(days=1)


def counts(lot: Lot, on: date) -> tuple[bool, bool]:
    """Whether it is offered as organic on a day, and whether it counts as such once used."""
    found = Lot.objects.select_related("item", "receipt_line__receipt").get(pk=lot.pk)
    offered = usable_lots(found.item, on=on, organic=True).filter(pk=lot.pk).exists()
    return offered, covers_of([found])(found, on)


def test_organic_lot_counts_on_the_last_day_of_its_certificate_and_not_on_the_next() -> None:
    """The day of use decides, not the day of receipt, nor today."""
    lot = build.lot(organic_until=DAY + 10 * ONE)
    assert counts(lot, DAY + 10 * ONE) == (True, True)
    assert counts(lot, DAY + 11 * ONE) == (False, False)


def test_renewed_certificate_covers_from_its_first_day() -> None:
    lot = build.lot(organic_until=DAY)
    supplier = lot.receipt_line.receipt.supplier
    build.certificate(supplier, [lot.item], valid_from=DAY + 2 * ONE)
    assert [counts(lot, DAY + days * ONE) for days in (0, 1, 2)] == [
        (True, True),
        (False, False),
        (True, True),
    ]


def test_organic_lot_is_taken_on_the_first_and_the_last_day_of_a_certificate() -> None:
    oil, of = build.material(), build.supplier()
    paper = build.certificate(of, [oil], valid_from=DAY - ONE, valid_to=DAY)
    lots = [build.arrived(oil, is_organic=True, certificate=paper) for _ in range(2)]
    for day, lot in zip((DAY - ONE, DAY), lots, strict=True):
        assert build.receipt(lot, of=of, received_on=day).pk
    with pytest.raises(ActionRefused, match="is valid from"):
        build.receipt(
            build.arrived(oil, is_organic=True, certificate=paper),
            of=of,
            received_on=DAY - 2 * ONE,
        )


@pytest.mark.parametrize(
    ("days_left", "state"),
    [(-1, "expired"), (0, "renewal due"), (60, "renewal due"), (61, "valid")],
)
def test_certificate_is_due_within_sixty_days_and_over_the_day_after_its_last(
    days_left: int, state: str
) -> None:
    build.certificate(build.supplier(), [], valid_to=DAY + days_left * ONE)
    assert Certificate.objects.with_state(DAY).get().state == state


def test_lot_that_came_as_warm_as_it_may_was_found_good() -> None:
    item = build.material(max_arrival_c=8)
    line = build.line(item, temperature_c=8)
    assert line.not_good == []
    assert ReceiptLine.objects.sound().count() == 1
    with pytest.raises(ActionRefused, match="Not found good"):
        build.line(item, temperature_c=9)


def test_lot_is_released_and_offered_on_its_last_good_day() -> None:
    line = build.line(makers_expiry=DAY)
    services.release_lot(line.lot, by=make.user(), at=make.NOON)
    line.lot.refresh_from_db()
    assert line.lot.status == Status.RELEASED
    assert usable_lots(line.lot.item, on=DAY).exists()
    assert not usable_lots(line.lot.item, on=DAY + ONE).exists()
