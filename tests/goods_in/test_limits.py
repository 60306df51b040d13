"""Limits met exactly: the last good day, the warmest allowed, the first and last day of a paper."""

from datetime import timedelta

import pytest

from tests import make
from tests.goods_in import build
from workshop.core.errors import ActionRefused
from workshop.goods_in import services
from workshop.goods_in.models import Certificate, ReceiptLine
from workshop.ledger.models import Status

pytestmark = pytest.mark.django_db

DAY = make.DAY
ONE = timedelta(days=1)


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
    with pytest.raises(ActionRefused, match="Does not conform"):
        build.line(item, temperature_c=9)


def test_lot_is_released_and_offered_on_its_last_good_day() -> None:
    line = build.line(makers_expiry=DAY)
    services.release_lot(line.lot, by=make.user(), at=make.NOON)
    line.lot.refresh_from_db()
    assert line.lot.status == Status.RELEASED
    assert line.lot.item.lots.available(on=DAY).exists()
    assert not line.lot.item.lots.available(on=DAY + ONE).exists()
