"""Release, hold, reject, close, stop, and opening again."""

from decimal import Decimal

import pytest

from tests import make
from tests.kettle import build
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.kettle import services
from workshop.kettle.models import Batch, BatchState
from workshop.ledger.models import Status

pytestmark = pytest.mark.django_db


def test_owner_releases_the_bulk() -> None:
    batch, owner = build.poured(), build.owner()

    (lot,) = build.release(batch, by=owner)

    assert lot.status == Status.RELEASED
    assert lot.status_changes.last() is not None
    assert lot.status_changes.last().by == owner  # type: ignore[union-attr]


def test_owner_holds_and_rejects_with_a_reason() -> None:
    batch, owner = build.poured(), build.owner()

    (held,) = services.hold_batch(batch, by=owner, at=make.NOON, reason="grainy")
    (rejected,) = services.reject_batch(batch, by=owner, at=make.NOON, reason="rancid")

    assert (held.status, rejected.status) == (Status.ON_HOLD, Status.REJECTED)


def test_hold_without_a_reason_is_refused() -> None:
    batch = build.poured()

    with pytest.raises(ActionRefused) as refused:
        services.hold_batch(batch, by=build.owner(), at=make.NOON, reason=" ")

    assert refused.value.field == "reason"


def test_maker_cannot_release() -> None:
    batch = build.poured()

    with pytest.raises(ActionRefused, match="Only an owner may release a lot"):
        build.release(batch, by=make.user(Role.MAKER))

    assert batch.operation.lots.get().status == Status.QUARANTINE


def test_batch_that_is_not_poured_has_nothing_to_release() -> None:
    with pytest.raises(ActionRefused, match="not poured yet, so there is no bulk to decide"):
        build.release(build.filled(), by=build.owner())


def test_second_release_is_refused() -> None:
    batch, owner = build.poured(), build.owner()
    build.release(batch, by=owner)

    with pytest.raises(ActionRefused, match="is released already"):
        build.release(batch, by=owner)


def test_close_seals_plan_weighings_checks_yield_and_loss() -> None:
    batch = build.poured(build.soft_balm(), "46", target_g="46.1")

    closed = services.close_batch(batch, by=build.owner(), at=make.NOON)

    lines = make.sealed_rows(closed.operation, "kettle_batchline")
    weighings = make.sealed_rows(closed.operation, "kettle_weighing")
    postings = make.sealed_rows(closed.operation, "ledger_posting")
    assert (closed.state, closed.operation.is_closed) == (BatchState.CLOSED, True)
    assert [line["target_g"] for line in lines] == [37300, 5200, 3600]
    assert [one["quantity"] for one in postings] == [-37300, -5200, -3600, 46000]
    assert len(weighings) == 3


def test_close_needs_a_pour() -> None:
    with pytest.raises(ActionRefused, match="pour it before it is closed"):
        services.close_batch(build.filled(), by=build.owner(), at=make.NOON)


def test_close_refuses_more_out_than_in() -> None:
    batch = build.poured(grams="1000")
    weighing = batch.lines.all()[0].weighings.get()
    services.undo_reading(
        weighing, by=build.owner(), at=make.NOON, reason="wrong lot", token=new_token()
    )

    with pytest.raises(ActionRefused, match="came out or left but only"):
        services.close_batch(batch, by=build.owner(), at=make.NOON)

    assert Batch.objects.get(pk=batch.pk).state == BatchState.POURED


def test_maker_cannot_close() -> None:
    with pytest.raises(ActionRefused, match="Only an owner may close a batch"):
        services.close_batch(build.poured(), by=make.user(Role.MAKER), at=make.NOON)


def test_stopped_batch_is_sealed_with_all_of_it_lost() -> None:
    batch = build.batch()
    build.weigh(batch.lines.all()[0])

    stopped = services.abandon_batch(
        batch, by=make.user(Role.MAKER), at=make.NOON, reason="burnt on the ring"
    )

    assert stopped.state == BatchState.ABANDONED
    postings = make.sealed_rows(stopped.operation, "ledger_posting")
    assert [one["quantity"] for one in postings] == [-500000]
    assert batch.checks.get().note == "Abandoned: burnt on the ring"


def test_stop_needs_a_reason() -> None:
    batch = build.batch()

    with pytest.raises(ActionRefused) as refused:
        services.abandon_batch(batch, by=build.owner(), at=make.NOON, reason="")

    assert refused.value.field == "reason"
    assert not batch.operation.is_closed


def test_poured_batch_cannot_be_stopped() -> None:
    with pytest.raises(ActionRefused, match="cannot be stopped any more"):
        services.abandon_batch(build.poured(), by=build.owner(), at=make.NOON, reason="late")


def test_amended_batch_is_mended_and_sealed_anew() -> None:
    owner = build.owner()
    batch = services.close_batch(build.poured(), by=owner, at=make.NOON)
    line = batch.lines.all()[0]

    amended = services.amend_batch(batch, by=owner, at=make.NOON, reason="wrong lot noted")
    services.undo_reading(
        line.weighings.get(), by=owner, at=make.NOON, reason="wrong lot", token=new_token()
    )
    build.weigh(line, note="the lot it really was")
    services.close_batch(amended, by=owner, at=make.NOON)

    assert batch.operation.seals.count() == 2
    assert batch.operation.amendments.get().reason == "wrong lot noted"


def test_only_an_owner_amends() -> None:
    batch = services.close_batch(build.poured(), by=build.owner(), at=make.NOON)

    with pytest.raises(ActionRefused, match="Only an owner may amend"):
        services.amend_batch(batch, by=make.user(Role.MAKER), at=make.NOON, reason="curious")


def test_amended_batch_that_was_stopped_is_under_way_again() -> None:
    owner = build.owner()
    batch = build.batch()
    build.weigh(batch.lines.all()[0])
    services.abandon_batch(batch, by=owner, at=make.NOON, reason="mistaken")

    amended = services.amend_batch(batch, by=owner, at=make.NOON, reason="it was the other one")

    assert amended.state == BatchState.UNDER_WAY


def test_taking_back_a_weighing_of_a_closed_batch_is_refused() -> None:
    batch = services.close_batch(build.poured(), by=build.owner(), at=make.NOON)

    with pytest.raises(ActionRefused, match="is closed; only the owner can amend it"):
        services.undo_reading(
            batch.lines.all()[0].weighings.get(),
            by=build.owner(),
            at=make.NOON,
            reason="late",
            token=new_token(),
        )


def test_weights_of_a_list_are_right_beside_each_other() -> None:
    build.poured(grams="970")
    second = build.batch()
    build.weigh(second.lines.all()[0], "12.5")

    weights = [(row.taken_g, row.put_out_g) for row in Batch.objects.with_weights().order_by("pk")]

    assert weights == [(Decimal(1000), Decimal(970)), (Decimal("12.5"), Decimal(0))]
