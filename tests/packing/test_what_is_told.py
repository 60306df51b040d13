"""What is told of a run at the bench, and what of it the book keeps."""

from datetime import timedelta
from decimal import Decimal
from functools import partial
from typing import Any

import pytest

from tests import make
from tests.packing import build
from tests.resent import refused
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, Status
from workshop.packing import services
from workshop.packing.models import FillSample, Reading
from workshop.packing.services import top_ups

pytestmark = pytest.mark.django_db
LATER = make.NOON + timedelta(hours=1)


def test_run_told_at_once_takes_and_loses_what_was_told() -> None:
    product = build.product()
    bulk, tins = make.lot(product.bulk, on_hand=5000), make.lot(product.container, on_hand=100)
    labels = make.lot(make.item(ItemKind.PACKAGING), on_hand=100)
    lot = build.packed(
        product, 40, bulk=bulk, containers=tins, spoiled=2, others=[(labels, Decimal(41))],
        spill_g=Decimal(12), spill_why=" Ran over ", sample_g=Decimal(5), sample_why=" For a test ",
        retained=3, retained_at="Box 1", note=" By hand ", draw=lambda choices: 3 % choices,
    )  # fmt: skip

    assert ledger.on_hand(lot) == 40
    assert [int(ledger.on_hand(one)) for one in (tins, labels)] == [58, 59]
    assert ledger.on_hand(bulk) == 5000 - 2400
    lost = {row.kind: (row.quantity, row.reason) for row in lot.origin.sheds.all()}
    assert lost == {
        "spilled": (Decimal(12), "Ran over"),
        "sampled": (Decimal(5), "For a test"),
    }
    run = build.run_of(lot)
    assert run.note == " By hand "
    kept = lot.retained_rows.get()
    assert (kept.units, kept.place, kept.by) == (3, "Box 1", run.operation.opened_by)
    # Its code is drawn as the caller draws: one letter throughout, and the check letter.
    assert len({*str(lot).replace("-", "")[:-1]}) == 1


def test_weights_taken_on_paper_are_written_with_the_run() -> None:
    scale = build.scale()
    lot = build.packed(
        units=40, weights=[Decimal("69.5"), Decimal("70.5")], kind=Reading.FULL, scale=scale,
        confirmed=True, token="paper",
    )  # fmt: skip
    rows = build.run_of(lot).samples.all()

    assert [(row.grams, row.kind, row.scale, row.at) for row in rows] == [
        (Decimal("69.5"), "full", scale, make.NOON),
        (Decimal("70.5"), "full", scale, make.NOON),
    ]


def test_run_under_way_is_stopped_with_a_reason_once_and_packs_nothing_more() -> None:
    run, person = build.run(), make.user()

    refused(
        lambda: services.stop(run, by=person, at=LATER, reason=" "),
        "Say why the run is stopped.",
        "reason",
    )
    stopped = services.stop(run, by=person, at=LATER, reason=" Burnt ")
    assert stopped.note == "Stopped: Burnt"
    assert type(run).objects.get(pk=run.pk).operation.is_closed
    refused(lambda: services.stop(run, by=person, at=LATER, reason="Again"), "is not under way")
    refused(lambda: build.weighed(run, "60"), "was stopped; nothing more is weighed for it.")


def test_finished_lot_is_judged_only_where_it_was_packed_here() -> None:
    lot, bought = build.packed(), make.lot()
    owner = make.user(Role.OWNER)
    judge: dict[str, Any] = {"by": owner, "at": LATER}

    for act in (services.hold, services.reject):
        refused(partial(act, bought, reason="Odd", **judge), "was not packed here")
    assert services.hold(lot, reason="Odd", **judge).status == Status.ON_HOLD
    change = lot.status_changes.latest("pk")
    assert (change.was, change.now, change.reason, change.by, change.at) == (
        "quarantine", "on_hold", "Odd", owner, LATER,
    )  # fmt: skip
    assert services.reject(lot, reason="Rancid", **judge).status == Status.REJECTED


@pytest.mark.parametrize(
    ("weights", "sentence"),
    [
        ("60", "2 packs were weighed before: weigh each of them again, in the same order."),
        ("60 61", "No weight is another one than before."),
        ("61 60.999", "Pack 2 weighed 61"),
    ],
)
def test_top_up_that_cannot_be_is_told_beside_the_weights(weights: str, sentence: str) -> None:
    run = build.run()
    build.weighed(run, "60 61")
    again = [Decimal(one) for one in weights.split()]

    refused(
        lambda: top_ups.top_up(run, again, by=make.user(), at=LATER, token=new_token(), note=""),
        sentence,
        "weights",
    )


def test_topped_up_pack_keeps_its_place_its_kind_and_its_scale() -> None:
    run, other, packer, scale = build.run(), build.run(), make.user(Role.PACKER), build.scale()
    build.weighed(run, "10", Reading.EMPTY)
    first, second = build.weighed(run, "60 61", scale=scale)
    sent: dict[str, Any] = {"by": packer, "at": LATER, "token": "top", "note": " From the jug: "}
    figures = [Decimal(62), Decimal(61)]

    (row,) = top_ups.top_up(run, figures, **sent)

    assert (row.corrects, row.place, row.kind, row.grams, row.scale) == (
        first, first.place, "net", 62, scale,
    )  # fmt: skip
    assert (row.at, row.by, row.reason) == (
        LATER, packer, "topped up, every pack of the lot: From the jug",
    )  # fmt: skip
    assert top_ups.top_up(run, figures, **sent) == [row]
    refused(lambda: top_ups.top_up(other, figures, **sent), "already used for something else")
    assert [one.grams for one in top_ups.packs_of(run)] == [62, second.grams]
    assert FillSample.objects.count() == 4
