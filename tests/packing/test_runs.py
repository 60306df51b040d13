"""A packing run as it happens: begun, finished with its losses, stopped, and samples kept back."""

from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction

from tests import make
from tests.packing import build
from workshop.core.errors import ActionRefused
from workshop.core.saving.new_tokens import new_token
from workshop.ledger import services as ledger
from workshop.ledger.lot_tree import links_back
from workshop.ledger.models import ItemKind, Lot, Operation, Posting, Shed, Status
from workshop.ledger.proof.checks import run_checks
from workshop.packing import queries, services
from workshop.packing.models import PackingRun, Retained
from workshop.packing.runs import lot_offers, packable
from workshop.packing.services.retained_samples import give_up, retain
from workshop.packing.stock.retained import for_sale, retained_of, sellable

pytestmark = pytest.mark.django_db


def decimals(*values: int) -> list[Decimal]:
    return [Decimal(value) for value in values]


def finished(run: PackingRun, **values: Any) -> Lot:
    """A run finished as planned."""
    product, units = run.product, values.pop("units", run.planned_units)
    bulk = values.pop("lot", None) or make.lot(product.bulk, on_hand=5000)
    values.setdefault("bulk", [(bulk, units * product.fill_g)])
    if "containers" not in values:
        tins = make.lot(product.container, on_hand=500)
        values["containers"] = [(tins, units + values.get("spoiled", 0))]
    return services.finish(
        run, units=units, made_on=make.DAY, by=make.user(), at=make.NOON, **values
    )


def test_run_is_under_way_until_it_is_finished() -> None:
    run = build.run()

    assert list(PackingRun.objects.under_way()) == [run]
    lot = finished(run)

    assert not PackingRun.objects.under_way().exists()
    assert lot.status == Status.QUARANTINE
    assert ledger.on_hand(lot) == 40
    assert Operation.objects.get(pk=run.operation_id).is_closed


def test_finishing_twice_answers_with_the_same_lot() -> None:
    run = build.run()
    bulk, tins = make.lot(run.product.bulk, on_hand=5000), make.lot(run.product.container)
    values: dict[str, Any] = {
        "bulk": [(bulk, Decimal(2420))],
        "containers": [(tins, 40)],
        "spill_g": Decimal(20),
        "spill_why": "jug tipped",
    }

    first = finished(run, **values)
    again = finished(run, **values)

    assert first == again
    assert ledger.on_hand(bulk) == 2580
    with pytest.raises(ActionRefused, match="already sent with other figures"):
        finished(run, **values | {"containers": [(tins, 41)], "spoiled": 1})


def test_spill_and_sample_are_said_by_their_kind() -> None:
    run = build.run()
    bulk = make.lot(run.product.bulk, on_hand=5000)

    lot = finished(
        run,
        bulk=[(bulk, Decimal(2460))],
        spill_g=Decimal(30),
        spill_why="jug tipped",
        sample_g=Decimal(20),
        sample_why="for the micro test, fridge 1",
    )

    taken = Posting.objects.filter(operation=run.operation, lot=bulk)
    assert [one.moved for one in taken] == [Decimal(2460)]
    left = Shed.objects.filter(operation=run.operation, lot=bulk)
    assert [(one.kind, one.quantity, one.reason) for one in left] == [
        ("spilled", Decimal(30), "jug tipped"),
        ("sampled", Decimal(20), "for the micro test, fridge 1"),
    ]
    assert {link.source_id for link in links_back([lot.pk])} >= {bulk.pk}
    lost = make.sealed_rows(lot.origin, "ledger_shed")
    assert [one["kind"] for one in lost] == ["spilled", "sampled"]
    assert [str(found.problems) for found in run_checks() if not found.is_sound] == []


def test_account_of_bulk_and_containers_balances() -> None:
    run = build.run()
    bulk = make.lot(run.product.bulk, on_hand=5000)
    finished(
        run,
        bulk=[(bulk, Decimal(2460))],
        spoiled=2,
        spill_g=Decimal(30),
        spill_why="jug tipped",
        sample_g=Decimal(20),
        sample_why="test",
    )

    account = queries.account(run)

    assert account.bulk_g == 2460
    assert [account.promised_g, account.giveaway_g] == decimals(2400, 10)
    assert [account.spilled_g, account.sampled_g] == decimals(30, 20)
    assert account.bulk_g == (
        account.promised_g + account.giveaway_g + account.spilled_g + account.sampled_g
    )
    assert account.pieces == account.units + account.spoiled == 42
    assert [account.loss_g, account.giveaway_each_g] == [Decimal(60), Decimal("0.25")]
    assert account.loss_percent
    assert round(account.loss_percent, 2) == Decimal("2.44")


def test_a_spill_larger_than_one_lot_is_taken_from_the_next() -> None:
    run = build.run()
    lots = [make.lot(run.product.bulk, on_hand=5000) for _ in range(2)]

    finished(
        run,
        bulk=[(lots[0], Decimal(1500)), (lots[1], Decimal(900 + 1600))],
        spill_g=Decimal(1600),
        spill_why="pot fell",
    )

    account = queries.account(run)
    assert [account.spilled_g, account.filled_g] == decimals(1600, 2400)
    assert [ledger.on_hand(lot) for lot in lots] == [3500, 2500]


def test_spill_does_not_count_as_fill() -> None:
    run = build.run()
    bulk = make.lot(run.product.bulk, on_hand=5000)

    with pytest.raises(ActionRefused) as refused:
        finished(run, bulk=[(bulk, Decimal(2400))], spill_g=Decimal(300), spill_why="pot fell")

    assert refused.value.message == (
        "40 units of 60.0\u202fg hold 2\u202f400.0\u202fg, and 2\u202f100.0\u202fg of bulk is "
        "entered besides 300.0\u202fg spilled or sampled. That is implausibly little: correct "
        "the units or the grams."
    )


@pytest.mark.parametrize(
    ("values", "field", "sentence"),
    [
        ({"spill_g": Decimal(5)}, "spill_why", "Say what happened to it."),
        ({"sample_g": Decimal(5)}, "sample_why", "Say what happened to it."),
        ({"spill_g": Decimal(-5), "spill_why": "x"}, "spill_g", "It cannot be less than nothing."),
        ({"retained": 41, "retained_at": "x"}, "retained", "Keep back from none to all"),
        ({"retained": 2}, "retained_at", "Say where the samples are kept."),
    ],
)
def test_losses_and_samples_are_told_whole_or_refused(
    values: dict[str, Any], field: str, sentence: str
) -> None:
    run = build.run()

    with pytest.raises(ActionRefused, match=sentence) as refused:
        finished(run, **values)

    assert refused.value.field == field
    assert not run.operation.postings.exists()
    assert not Shed.objects.exists()
    assert PackingRun.objects.get(pk=run.pk).is_under_way


def test_labels_are_used_up_with_the_run() -> None:
    run = build.run()
    rolls = make.lot(make.item(ItemKind.PACKAGING, name="Label roll, 60 g"), on_hand=500)

    lot = finished(run, others=[(rolls, Decimal(43))])

    account = queries.account(run)
    assert ledger.on_hand(rolls) == 457
    assert [account.pieces, account.spoiled] == decimals(40, 0)
    assert [posting.moved for posting in account.others] == [43]
    assert rolls.pk in {link.source_id for link in links_back([lot.pk])}


def test_only_released_packaging_is_used_besides_the_container() -> None:
    run = build.run()
    oil = make.lot(make.item(ItemKind.MATERIAL))
    tins = make.lot(run.product.container)
    waiting = make.lot(make.item(ItemKind.PACKAGING), status=Status.QUARANTINE)

    def refused(lot: Lot) -> tuple[str, str | None]:
        with pytest.raises(ActionRefused) as error:
            finished(run, others=[(lot, Decimal(40))])
        return error.value.message, error.value.field

    assert [refused(lot) for lot in (oil, tins, waiting)] == [
        (f"Lot {oil} is {oil.item}, which is not packaging.", f"lot_{oil.pk}"),
        (f"Lot {tins} holds the containers themselves.", f"lot_{tins.pk}"),
        (f"Lot {waiting} is quarantine; only a released lot is packed.", f"lot_{waiting.pk}"),
    ]


def test_packaging_of_the_last_run_is_proposed_for_the_next() -> None:
    run = build.run()
    rolls = make.lot(make.item(ItemKind.PACKAGING), on_hand=500)
    other = make.lot(make.item(ItemKind.PACKAGING), on_hand=500)
    finished(run, others=[(rolls, Decimal(43))])

    # 43 for 40 units are 26.9 for 25.
    proposal = lot_offers.propose(run.product, 25, on=make.DAY)

    assert [offer.lot for offer in proposal.others] == [rolls, other]
    assert [offer.proposed for offer in proposal.others] == decimals(27, 0)


def test_several_products_come_from_one_bulk_and_the_rest_is_shown() -> None:
    large = build.product()
    small = build.product(bulk=large.bulk, fill_g=Decimal(15), name="Hand salve 15 g")
    bulk = make.lot(large.bulk, on_hand=2500)
    run = build.run(large)
    finished(run, lot=bulk)

    ((left, fillings),) = packable.next_runs(queries.account(run))

    assert left == bulk
    assert left.on_hand == 100
    assert [(one.product, one.units) for one in fillings] == [(small, 6), (large, 1)]


def test_bulk_that_fills_no_unit_is_a_leftover_and_not_proposed() -> None:
    product = build.product()
    plenty = make.lot(product.bulk, on_hand=900)
    scrap = make.lot(product.bulk, on_hand=59)
    make.lot(
        product.bulk,
        on_hand=900,
        best_before=make.day(-1),
        made_on=make.day(-24),
    )

    proposal = lot_offers.propose(product, 10, on=make.DAY)

    assert list(packable.to_pack(on=make.DAY)) == [plenty]
    assert list(packable.too_little(on=make.DAY)) == [scrap]
    assert [offer.lot for offer in proposal.bulk] == [plenty, scrap]
    assert [offer.proposed for offer in proposal.bulk] == decimals(600, 0)
    assert lot_offers.stock_for(product, on=make.DAY).bulk_units == 15


def test_run_stopped_took_nothing_and_cannot_go_on() -> None:
    run = build.run()
    build.weighed(run, "60.1")

    with pytest.raises(ActionRefused, match="Say why the run is stopped"):
        services.stop(run, by=make.user(), at=make.NOON, reason=" ")
    services.stop(run, by=make.user(), at=make.NOON, reason="wrong tins")

    stopped = PackingRun.objects.get(pk=run.pk)
    assert (stopped.is_under_way, stopped.note) == (False, "Stopped: wrong tins")
    assert '"stopped":"wrong tins"' in stopped.operation.seals.get().record
    with pytest.raises(ActionRefused, match="was stopped; begin another run"):
        finished(stopped)
    with pytest.raises(ActionRefused, match="is not under way"):
        services.stop(stopped, by=make.user(), at=make.NOON, reason="again")


@pytest.mark.parametrize("units", [0, 100_001])
def test_run_is_planned_for_a_likely_number(units: int) -> None:
    with pytest.raises(ActionRefused, match="Pack from 1 to 100") as refused:
        build.run(units=units)
    assert refused.value.field == "units"
    assert not Operation.objects.filter(packing_run__isnull=False).exists()


# ---- Retained samples ---------------------------------------------------------------------------


def kept(lot: Lot, units: int = 2, **values: Any) -> Retained:
    values.setdefault("place", "cupboard 2")
    values.setdefault("token", new_token())
    return retain(lot, Decimal(units), by=make.user(), at=make.NOON, **values)


def given_up(lot: Lot, units: int = 2, **values: Any) -> Retained:
    values.setdefault("reason", "two years are over")
    values.setdefault("discarded", True)
    values.setdefault("token", new_token())
    return give_up(lot, Decimal(units), by=make.user(), at=make.NOON, **values)


def released_lot(units: int = 40) -> Lot:
    lot = build.packed(units=units)
    return services.release(lot, by=make.user(), at=make.NOON, reason="weighed on paper")


def test_samples_stay_in_the_house_and_are_not_for_sale() -> None:
    run = build.run()

    lot = finished(run, retained=2, retained_at="cupboard 2")

    assert [ledger.on_hand(lot), retained_of(lot), sellable(lot)] == decimals(40, 2, 38)
    assert queries.account(run).retained == 2
    assert Retained.objects.get().place == "cupboard 2"


def test_shelf_counts_what_is_for_sale() -> None:
    lot = released_lot()
    kept(lot, 3)

    assert [row.sellable for row in for_sale(on=make.DAY)] == [37]  # type: ignore[attr-defined]


def test_samples_given_up_are_thrown_away_or_for_sale_again() -> None:
    lot = released_lot()
    kept(lot, 5)

    given_up(lot, 2)
    given_up(lot, 1, discarded=False, reason="one too many")

    assert [ledger.on_hand(lot), retained_of(lot), sellable(lot)] == decimals(38, 2, 36)
    assert lot.postings.get(operation__kind="discard").reason == (
        "Retained sample: two years are over"
    )


def test_same_token_keeps_back_and_gives_up_once() -> None:
    lot = released_lot()

    assert kept(lot, token="t") == kept(lot, token="t")
    assert given_up(lot, 1, token="u") == given_up(lot, 1, token="u")

    assert [ledger.on_hand(lot), retained_of(lot)] == decimals(39, 1)


def test_no_more_is_kept_back_or_given_up_than_there_is() -> None:
    lot = released_lot()
    kept(lot, 3)

    def refused(act: Any, *args: Any, **values: Any) -> tuple[str, str | None]:
        with pytest.raises(ActionRefused) as error:
            act(*args, **values)
        return error.value.message, error.value.field

    assert [
        refused(kept, lot, 38),
        refused(kept, lot, 0),
        refused(kept, lot, place=" "),
        refused(kept, make.lot()),
        refused(given_up, lot, 4),
        refused(given_up, lot, 1, reason=" "),
    ] == [
        (f"Of lot {lot} only 37 could be retained.", "units"),
        ("Give a whole number of units above none.", "units"),
        ("Say where the samples are kept.", "place"),
        (f"Lot {make_last()} is {make_last().item}, not a finished product.", None),
        (f"Only 3 of lot {lot} are retained.", "units"),
        ("Say what becomes of them.", "reason"),
    ]
    assert retained_of(lot) == 3


def make_last() -> Lot:
    return Lot.objects.order_by("-pk")[0]


def test_run_taken_back_keeps_no_samples() -> None:
    run = build.run()
    lot = finished(run, retained=2, retained_at="cupboard 2", spill_g=Decimal(0))

    services.void_run(
        PackingRun.objects.get(pk=run.pk), by=make.user(), at=make.NOON, reason="wrong lot"
    )

    assert [ledger.on_hand(lot), retained_of(lot)] == decimals(0, 0)


@pytest.mark.parametrize(
    "values", [{"units": Decimal(2)}, {"units": Decimal(-2)}, {"units": Decimal(0), "place": "x"}]
)
def test_database_refuses_samples_without_a_place_or_a_reason(values: dict[str, Any]) -> None:
    lot = build.packed()

    with pytest.raises(IntegrityError, match="retained_says_where_or_why"), transaction.atomic():
        Retained.objects.create(lot=lot, by=make.user(), at=make.NOON, token="t", **values)


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE packing_retained SET units = 1",
        "DELETE FROM packing_retained",
    ],
)
def test_samples_are_only_ever_added(sql: str) -> None:
    finished(build.run(), retained=2, retained_at="cupboard 2")

    with (
        pytest.raises(IntegrityError, match="only ever added"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(sql)
