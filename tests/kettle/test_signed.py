"""Signed and then changed is not signed: what is released, and what is changed afterwards."""

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from tests import make
from tests.kettle import build
from tests.packing import build as packing
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.kettle import services
from workshop.kettle.models import Batch, CheckKind
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Side, Status
from workshop.packing import services as packing_services

pytestmark = pytest.mark.django_db


def released(**values: Any) -> tuple[Batch, Lot]:
    batch = build.poured(**values)
    (lot,) = build.release(batch)
    return batch, lot


def packed_and_released(bulk: Lot, units: int = 10) -> Lot:
    tins = packing.packed(packing.product(bulk=bulk.item), units, bulk=bulk)
    return packing_services.release(tins, by=make.user(), at=make.NOON, reason="weighed on paper")


def status_of(lot: Lot) -> Status:
    return Status(Lot.objects.get(pk=lot.pk).status)


def said(lot: Lot) -> str:
    last = lot.status_changes.last()
    assert last is not None
    return last.reason


def weigh(batch: Batch) -> None:
    build.weigh(batch.lines.all()[0], "12.5", note="was on the slip")


def undo(batch: Batch) -> None:
    services.undo_reading(
        batch.lines.all()[0].weighings.get(),
        by=make.user(Role.MAKER),
        at=make.NOON,
        reason="wrong lot",
        token=new_token(),
    )


def add_unplanned(batch: Batch) -> None:
    lot = make.lot()
    services.add_unplanned(
        batch,
        lot.item,
        lot,
        Decimal(5),
        reason="went in, not written down",
        scale=batch.scale,
        by=make.user(Role.MAKER),
        at=make.NOON,
        token=new_token(),
    )


def correct(batch: Batch) -> None:
    services.correct_yield(
        batch.operation.postings.effective().get(side=Side.OUT),
        Decimal(969),
        reason="read wrongly",
        by=make.user(Role.MAKER),
        at=make.NOON,
        token=new_token(),
    )


def check(batch: Batch) -> None:
    services.add_check(
        batch,
        CheckKind.SPOON,
        note="set in three minutes",
        by=make.user(Role.MAKER),
        at=make.NOON,
        token=new_token(),
    )


def time_it(batch: Batch) -> None:
    words: dict[str, Any] = {"by": make.user(Role.MAKER), "at": make.NOON}
    timer = services.start_timer(batch, name="rest", minutes=5, token=new_token(), **words)
    services.end_timer(timer, note="", token=new_token(), **words)


CHANGES = {
    "a weighing added": (weigh, "12.5"),
    "a weighing taken back": (undo, "taken back: wrong lot"),
    "an unplanned addition": (add_unplanned, "weighed in"),
    "a yield corrected": (correct, "corrected from 970"),
    "a check added": (check, "a check added"),
    "a time measured": (time_it, "a check added"),
}


@pytest.mark.parametrize(("change", "words"), CHANGES.values(), ids=CHANGES)
def test_changed_after_its_release_the_bulk_waits_for_its_release_again(
    change: Callable[[Batch], None], words: str
) -> None:
    batch, bulk = released()
    tins = packed_and_released(bulk)

    change(batch)

    assert (status_of(bulk), status_of(tins)) == (Status.QUARANTINE, Status.ON_HOLD)
    assert said(bulk).startswith(f"Changed after its release: {batch}:")
    assert words in said(bulk)
    assert said(tins).startswith(f"Lot {bulk}, which went into it, was changed after its release")


def test_amended_and_unchanged_it_stays_released() -> None:
    batch, bulk = released()
    owner = build.owner()
    services.close_batch(batch, by=owner, at=make.NOON)

    services.amend_batch(batch, by=owner, at=make.NOON, reason="to look something up")

    assert status_of(bulk) == Status.RELEASED


def test_change_sent_twice_takes_the_release_back_once() -> None:
    batch, bulk = released()
    line, lot = batch.lines.all()[0], make.lot(batch.lines.all()[0].item)
    token = new_token()
    build.weigh(line, "12.5", lot=lot, note="was on the slip", token=token)
    build.release(batch, note="looked at again")

    build.weigh(line, "12.5", lot=lot, note="was on the slip", token=token)

    assert status_of(bulk) == Status.RELEASED


@pytest.mark.parametrize("status", [Status.ON_HOLD, Status.REJECTED])
def test_change_never_lets_go_what_was_held_or_rejected(status: Status) -> None:
    batch, bulk = released()
    ledger.set_lot_status(bulk, status, by=build.owner(), at=make.NOON, reason="grainy")

    weigh(batch)

    assert status_of(bulk) == status


def test_tins_wait_for_the_bulk_that_was_changed() -> None:
    batch, bulk = released()
    tins = packing.packed(packing.product(bulk=bulk.item), 10, bulk=bulk)
    weigh(batch)

    with pytest.raises(ActionRefused, match=f"Lot {bulk} .* went into it and is quarantine"):
        packing_services.release(tins, by=build.owner(), at=make.NOON, reason="fine")

    build.release(batch)
    packing_services.release(tins, by=build.owner(), at=make.NOON, reason="fine")
    assert status_of(tins) == Status.RELEASED


def test_salve_of_a_changed_infusion_is_held_and_so_are_its_tins() -> None:
    infusion_of, infusion = released()
    oil = infusion.item
    salve_of = build.batch(build.version([(oil, "50"), (make.item(), "50")]), target_g="200")
    for line in salve_of.lines.all():
        build.weigh(line, lot=infusion if line.item == oil else None)
    (salve,) = build.pour(salve_of, "190")
    build.release(salve_of)
    salve.refresh_from_db()
    tins = packed_and_released(salve, units=2)

    weigh(infusion_of)

    assert [status_of(lot) for lot in (infusion, salve, tins)] == [
        Status.QUARANTINE,
        Status.ON_HOLD,
        Status.ON_HOLD,
    ]
    with pytest.raises(ActionRefused, match="decide about that one first"):
        build.release(salve_of, note="fine")


def test_bulk_out_of_hold_is_released_only_with_a_note() -> None:
    batch = build.poured()
    services.hold_batch(batch, by=build.owner(), at=make.NOON, reason="grainy")

    with pytest.raises(ActionRefused, match="Say why") as refused:
        build.release(batch)

    assert refused.value.field == "note"
    (lot,) = build.release(batch, note="melted and smooth")
    assert (lot.status, said(lot)) == (Status.RELEASED, "melted and smooth")


def test_rejected_bulk_is_not_released_with_its_batch() -> None:
    batch = build.poured()
    services.reject_batch(batch, by=build.owner(), at=make.NOON, reason="rancid")

    with pytest.raises(ActionRefused, match="is rejected already"):
        build.release(batch, note="smells better")


def test_bulk_is_released_by_its_owners_own_password_alone() -> None:
    batch, owner = build.poured(), build.owner()

    for signature in (None, make.signed(build.owner())):
        with pytest.raises(ActionRefused, match="signed with your password"):
            services.release_batch(batch, by=owner, at=make.NOON, confirmed=signature)


def test_bulk_past_its_date_is_not_released() -> None:
    batch = build.poured(build.version(shelf_life_months=1))

    with pytest.raises(ActionRefused, match="cannot be released any more"):
        build.release(batch, at=make.NOON + timedelta(days=40))
