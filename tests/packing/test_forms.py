"""Each form of packing: sent twice, refused beside its field, written with all that was said."""

from datetime import timedelta
from decimal import Decimal
from functools import partial
from typing import Any

import pytest

from tests import make
from tests.packing import build
from tests.resent import bound_to, refused
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, OperationKind, Status
from workshop.packing import services
from workshop.packing.models import PackingRun, Reading
from workshop.packing.run_figures import MOST_UNITS
from workshop.packing.services import fill_weights, retained_samples
from workshop.packing.stock.retained import retained_of, sellable

pytestmark = pytest.mark.django_db
ONE = Decimal(1)
LATER = make.NOON + timedelta(hours=1)


def test_run_is_bound_to_its_product_note_and_units() -> None:
    product, person = build.product(), make.user()
    sent: dict[str, Any] = {"product": product, "note": "Late", "units": 40}

    def plan(**content: Any) -> PackingRun:
        return services.plan_run(**content, by=person, at=make.NOON, token="run")

    bound_to(plan, sent, {"product": build.product(), "note": "", "units": 41})
    run = plan(**sent)
    assert (run.product, run.note, run.planned_units) == (product, "Late", 40)
    assert run.operation.kind == OperationKind.PACKING
    for units in (0, MOST_UNITS + 1):
        refused(partial(build.run, product, units), "Pack from 1 to", "units")
    assert [build.run(product, units).planned_units for units in (1, MOST_UNITS)] == [1, MOST_UNITS]


def test_samples_kept_are_bound_to_their_lot_units_place_and_reason() -> None:
    lot, other = build.packed(), build.packed()
    person = make.user()
    sent: dict[str, Any] = {"lot": lot, "units": 3 * ONE, "place": " Box 1 ", "reason": " Law "}

    def keep(**content: Any) -> Any:
        return retained_samples.retain(**content, by=person, at=LATER, token="kept")

    bound_to(keep, sent, {"lot": other, "units": ONE, "place": "Box 2", "reason": ""})
    row = keep(**sent)
    assert (row.lot, row.units, row.place, row.reason) == (lot, 3, "Box 1", "Law")
    assert (row.at, row.by) == (LATER, person)
    assert [int(one) for one in (retained_of(lot), sellable(lot))] == [3, 37]


@pytest.mark.parametrize(
    ("units", "place", "sentence", "field"),
    [
        ("0", "Box", "Give a whole number of units above none.", "units"),
        ("1.5", "Box", "Give a whole number of units above none.", "units"),
        ("41", "Box", "only 40 could be retained", "units"),
        ("1", " ", "Say where the samples are kept.", "place"),
    ],
)
def test_samples_that_cannot_be_kept_are_told_beside_their_field(
    units: str, place: str, sentence: str, field: str
) -> None:
    lot = build.packed(units=40)

    def keep(of: Lot, figure: str) -> Any:
        return retained_samples.retain(
            of, Decimal(figure), place=place, by=make.user(), at=make.NOON, token=new_token()
        )

    refused(lambda: keep(lot, units), sentence, field)
    refused(lambda: keep(make.lot(), "1"), "not a finished product")
    if place.strip():
        assert keep(lot, "40").units == 40


@pytest.mark.parametrize("discarded", [True, False])
def test_samples_given_up_are_bound_to_what_becomes_of_them(discarded: bool) -> None:  # noqa: FBT001 -- a column of the table
    lot, other = (build.packed(retained=5, retained_at="Box") for _ in range(2))
    person = make.user()
    sent: dict[str, Any] = {
        "lot": lot, "units": 2 * ONE, "reason": " Tested ", "discarded": discarded,
    }  # fmt: skip

    def give(**content: Any) -> Any:
        return retained_samples.give_up(**content, by=person, at=LATER, token="up")

    bound_to(give, sent, {
        "lot": other, "units": ONE, "reason": "Sold", "discarded": not discarded,
    })  # fmt: skip
    row = give(**sent)
    assert (row.units, row.reason, row.at, row.by) == (-2, "Tested", LATER, person)
    left = [int(one) for one in (retained_of(lot), ledger.on_hand(lot))]
    assert left == [3, 38 if discarded else 40]
    if discarded:
        gone = lot.postings.latest("pk")
        assert (gone.reason, gone.at, gone.by) == ("Retained sample: Tested", LATER, person)

    def refuse(figure: str, reason: str, sentence: str, field: str) -> None:
        content = {**sent, "units": Decimal(figure), "reason": reason}
        refused(
            lambda: retained_samples.give_up(**content, by=person, at=LATER, token=new_token()),
            sentence,
            field,
        )

    refuse("4", "Tested", f"Only 3 of lot {lot} are retained.", "units")
    refuse("0", "Tested", "a whole number of units above none", "units")
    refuse("1", " ", "Say what becomes of them.", "reason")


def test_unpacking_is_bound_to_its_figures_and_waits_for_a_release() -> None:
    lot, other = build.packed(units=40), build.packed(units=40)
    person = make.user()
    make.dated(lot, make.day(200))
    sent: dict[str, Any] = {
        "lot": lot, "units": 10 * ONE, "grams": Decimal(590), "reason": " dull ",
    }  # fmt: skip

    def unpack(**content: Any) -> Lot:
        return services.unpack(**content, by=person, at=LATER, token="out")

    bound_to(unpack, sent, {"lot": other, "units": ONE, "grams": ONE, "reason": "dented"})
    made = unpack(**sent)
    lot.refresh_from_db()
    assert (made.status, made.best_before, made.made_on) == (
        Status.QUARANTINE,
        lot.best_before,
        make.DAY,
    )
    assert [int(ledger.on_hand(one)) for one in (made, lot)] == [590, 30]
    reasons = {one.lot_id: one.reason for one in made.origin.postings.all()}
    assert reasons == {lot.pk: "dull", made.pk: f"Out of 10 of lot {lot}: dull"}
    assert made.origin.is_closed


@pytest.mark.parametrize(
    ("units", "grams", "sentence", "field"),
    [
        (39, "10", "may be unpacked; 2 more are retained as samples.", "units"),
        (1, "90.001", "cannot have come out of them", "grams"),
    ],
)
def test_more_than_there_is_is_not_unpacked(
    units: int, grams: str, sentence: str, field: str
) -> None:
    lot = build.packed(units=40, retained=2, retained_at="Box")

    def unpack(number: int, weight: str, at: Any = make.NOON) -> Lot:
        return services.unpack(
            lot, Decimal(number), Decimal(weight),
            reason="dull", by=make.user(), at=at, token=new_token(),
        )  # fmt: skip

    refused(lambda: unpack(units, grams), sentence, field)
    most = str(60 * fill_weights.MOST_USUAL)
    assert ledger.on_hand(unpack(1, most)) == Decimal(most)
    make.dated(lot, make.DAY)
    assert ledger.on_hand(unpack(1, "1")) == 1  # on its last day
    refused(lambda: unpack(1, "1", make.NOON + timedelta(days=1)), "was best before")
    make.put(lot, Status.ON_HOLD)
    refused(lambda: unpack(1, "1"), "an owner decides about it first")


def test_weights_are_bound_to_run_kind_scale_and_each_weight() -> None:
    run, other, person = build.run(), build.run(), make.user()
    scale = build.scale()
    sent: dict[str, Any] = {
        "run": run, "kind": Reading.NET, "weights": [Decimal(60), Decimal(61)], "scale": scale,
    }  # fmt: skip

    def weigh(**content: Any) -> Any:
        return fill_weights.weigh(**content, by=person, at=LATER, token="w")

    bound_to(weigh, sent, {
        "run": other, "kind": Reading.FULL, "weights": [Decimal(61), Decimal(60)],
        "scale": build.scale(),
    })  # fmt: skip
    rows = weigh(**sent)
    assert [(row.place, row.grams, row.kind, row.scale) for row in rows] == [
        (1, 60, "net", scale),
        (2, 61, "net", scale),
    ]
    assert {(row.at, row.by) for row in rows} == {(LATER, person)}
    (third,) = build.weighed(run, "62")
    assert third.place == 3


@pytest.mark.parametrize(
    ("kind", "weights", "field"),
    # A fill of 60 g: less than half or more than half as much again is asked about.
    [
        (Reading.NET, "", "weights"),
        (Reading.NET, "0", "weights"),
        (Reading.NET, "10000000.001", "weights"),
        (Reading.EMPTY, "-1", "weights"),
        (Reading.NET, str(60 * fill_weights.LEAST_USUAL - Decimal("0.001")), "confirmed"),
        (Reading.NET, str(60 * fill_weights.MOST_USUAL + Decimal("0.001")), "confirmed"),
        (Reading.FULL, str(10 + 60 * fill_weights.MOST_USUAL + Decimal("0.001")), "confirmed"),
    ],
)
def test_weight_that_looks_like_a_slip_is_told_beside_its_field(
    kind: Reading, weights: str, field: str
) -> None:
    run = build.run()
    build.weighed(run, "9 11", Reading.EMPTY)

    refused(lambda: build.weighed(run, weights, kind, confirmed=False), "", field)
    usual = (60 * fill_weights.LEAST_USUAL, 60 * fill_weights.MOST_USUAL)
    for grams in usual:
        assert build.weighed(run, str(grams), Reading.NET, confirmed=False)
        assert build.weighed(run, str(10 + grams), Reading.FULL, confirmed=False)


def test_corrected_weight_is_bound_to_its_place_and_keeps_what_it_corrects() -> None:
    run, owner = build.run(), make.user(Role.OWNER)
    first, second = build.weighed(run, "60 61")
    sent: dict[str, Any] = {"sample": first, "grams": Decimal("60.5"), "reason": " Misread "}

    def correct(**content: Any) -> Any:
        return fill_weights.correct(**content, by=owner, at=LATER, token="c")

    bound_to(correct, sent, {"sample": second, "grams": None, "reason": "Slip"})
    row = correct(**sent)
    assert (row.corrects, row.place, row.grams, row.kind) == (first, 1, Decimal("60.5"), "net")
    assert (row.reason, row.at, row.by, row.scale) == ("Misread", LATER, owner, first.scale)

    def again(sample: Any, grams: str | None, reason: str) -> Any:
        figure = None if grams is None else Decimal(grams)
        return fill_weights.correct(
            sample, figure, by=owner, at=LATER, token=new_token(), reason=reason
        )

    refused(lambda: again(second, "60", " "), "Say why the weight is corrected.", "reason")
    refused(lambda: again(second, "0", "Slip"), "A weight is above zero", "weights")
    refused(lambda: again(first, "60", "Slip"), "This weight was corrected already.")
    struck = again(second, None, "Slip")
    refused(lambda: again(struck, "60", "Slip"), "This weight was corrected already.")
