"""Days met exactly: the first and the last of a certificate, the last of a lot."""

from datetime import date, timedelta

import pytest

from tests import make
from tests.goods_in import build
from tests.goods_in.test_composition import made, shares
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.goods_in import services
from workshop.goods_in.bought_lot_organic_status import organic_lots
from workshop.goods_in.delivery_checks import RefusedLines
from workshop.goods_in.models import Certificate
from workshop.ledger.models import Status

pytestmark = pytest.mark.django_db

DAY, NOON = build.DAY, build.NOON
# The days of a certificate around the day of receipt: before, first, last, after.
FIRST, LAST = -2, 3
DAYS = [(FIRST - 1, False), (FIRST, True), (LAST, True), (LAST + 1, False)]


def days(count: int) -> timedelta:
    return timedelta(days=count)


def held(on: date = DAY) -> Certificate:
    of = build.supplier()
    return build.certificate(
        of, [build.material("Oil")], valid_from=on + days(FIRST), valid_to=on + days(LAST)
    )


@pytest.mark.parametrize(("after", "valid"), DAYS)
def test_certificate_holds_from_its_first_to_its_last_day(after: int, valid: bool) -> None:  # noqa: FBT001 -- a column of the table
    paper = held()

    assert paper.is_valid_on(DAY + days(after)) == valid
    assert Certificate.objects.valid_on(DAY + days(after)).exists() == valid


@pytest.mark.parametrize(("after", "_"), DAYS)
def test_lot_is_organic_on_any_day_of_use_as_it_was_received(after: int, _: bool) -> None:  # noqa: FBT001 -- a column of the table
    paper = held()
    item = paper.items.get()
    lot = build.line(item, of=paper.supplier, certificate=paper, is_organic=True).lot
    make.put(lot, Status.RELEASED)

    (balm,) = made([(lot, 10)], at=NOON + days(after))

    assert shares(balm) == {("OIL", True): "1"}
    assert organic_lots(item.lots.available(on=DAY + days(after))).exists()


@pytest.mark.parametrize(("after", "taken"), DAYS)
def test_lot_is_taken_as_organic_by_the_day_it_arrived_and_not_by_that_of_entry(
    after: int,
    taken: bool,  # noqa: FBT001 -- a column of the table
) -> None:
    arrived_on = DAY - days(20)
    paper = held(arrived_on - days(after))
    lot = build.arrived(paper.items.get(), certificate=paper, is_organic=True)

    try:
        build.receipt(lot, of=paper.supplier, received_on=arrived_on)
    except RefusedLines:
        assert not taken
    else:
        assert taken


def test_lot_is_released_on_its_last_day_and_not_on_the_next() -> None:
    owner = make.user(Role.OWNER)
    last = build.line(makers_expiry=DAY).lot
    over = build.line(makers_expiry=DAY).lot

    assert services.release_lot(last, by=owner, at=NOON).status == Status.RELEASED
    with pytest.raises(ActionRefused, match="cannot be released any more"):
        services.release_lot(over, by=owner, at=NOON + days(1))


def test_lots_of_a_receipt_are_released_together_up_to_their_last_day() -> None:
    owner = make.user(Role.OWNER)
    receipt = build.receipt(
        build.arrived(build.material(), makers_expiry=DAY + days(1)),
        build.arrived(build.material(), makers_expiry=DAY + days(2)),
    )

    released = services.release_sound_lots(receipt, by=owner, at=NOON + days(2))

    assert [lot.best_before for lot in released] == [DAY + days(2)]
