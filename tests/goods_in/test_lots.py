"""Deciding on lots that came in."""

from datetime import timedelta
from decimal import Decimal

import pytest

from tests import make
from tests.goods_in import build
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.goods_in import services
from workshop.ledger.models import Status

pytestmark = pytest.mark.django_db


def test_release_needs_no_words_for_a_lot_found_good() -> None:
    by = make.user(Role.OWNER)

    lot = services.release_lot(build.line().lot, by=by, at=build.NOON)

    assert lot.status == Status.RELEASED
    change = lot.status_changes.latest("pk")
    assert (change.was, change.now, change.by) == (Status.QUARANTINE, Status.RELEASED, by)


def test_release_past_the_date_is_refused() -> None:
    lot = build.line(makers_expiry=build.DAY).lot
    next_day = build.NOON + timedelta(days=1)

    with pytest.raises(ActionRefused) as caught:
        services.release_lot(lot, by=make.user(), at=next_day)

    assert caught.value.message == (
        f"Lot {lot} was best before {make.shown()} and cannot be released any more."
    )
    lot.refresh_from_db()
    assert lot.status == Status.QUARANTINE


def test_release_of_a_lot_not_found_good_asks_why() -> None:
    lot = build.line(look_is_good=False, checks_note="Cloudy.").lot

    with pytest.raises(ActionRefused, match="say why it may be used") as caught:
        services.release_lot(lot, by=make.user(), at=build.NOON)

    assert caught.value.field == "reason"
    released = services.release_lot(lot, by=make.user(), at=build.NOON, reason="Cleared at 20 °C.")
    assert released.status == Status.RELEASED


def test_release_of_a_lot_that_came_warm_asks_why() -> None:
    butter = build.material(max_arrival_c=Decimal(8))
    lot = build.line(butter, temperature_c=Decimal(12), checks_note="Firm.").lot

    with pytest.raises(ActionRefused, match="say why it may be used"):
        services.release_lot(lot, by=make.user(), at=build.NOON)


@pytest.mark.parametrize("role", [Role.MAKER, Role.PACKER, Role.INSPECTOR])
def test_only_an_owner_releases_and_rejects(role: Role) -> None:
    lot, by = build.line().lot, make.user(role)

    with pytest.raises(ActionRefused, match="Only an owner may release a lot"):
        services.release_lot(lot, by=by, at=build.NOON)
    with pytest.raises(ActionRefused, match="Only an owner may reject a lot"):
        services.reject_lot(lot, by=by, at=build.NOON, reason="Bad.")


def test_packer_holds_a_lot_and_the_inspector_does_not() -> None:
    lot = build.lot()

    with pytest.raises(ActionRefused, match="An inspector changes nothing"):
        services.hold_lot(lot, by=make.user(Role.INSPECTOR), at=build.NOON, reason="Odd.")
    held = services.hold_lot(lot, by=make.user(Role.PACKER), at=build.NOON, reason="Odd.")

    assert held.status == Status.ON_HOLD


def test_rejected_lot_is_not_held() -> None:
    lot = services.reject_lot(build.lot(), by=make.user(), at=build.NOON, reason="Rancid.")

    with pytest.raises(ActionRefused, match="A rejected lot stays rejected"):
        services.hold_lot(lot, by=make.user(), at=build.NOON, reason="Odd.")


def test_lots_of_a_receipt_that_are_sound_are_released_together() -> None:
    butter = build.material(max_arrival_c=Decimal(8))
    receipt = build.receipt(
        build.arrived(build.material()),
        build.arrived(build.packaging(), smell_is_good=False),
        build.arrived(build.material(), smell_is_good=False, checks_note="Musty."),
        build.arrived(butter, temperature_c=Decimal(9), checks_note="Firm."),
        build.arrived(build.material(), makers_expiry=build.DAY),
    )
    next_day = build.NOON + timedelta(days=1)

    released = services.release_sound_lots(receipt, by=make.user(), at=next_day)

    lines = list(receipt.lines.all())
    assert released == [lines[0].lot, lines[1].lot]
    assert [line.lot.status for line in lines[2:]] == [Status.QUARANTINE] * 3
