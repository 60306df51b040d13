"""Recalls and drills: what is held, whom they reach, and where every unit is."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from tests import make
from tests.dispatch import build as dispatch
from tests.trace import build, rooms
from workshop.aftersales.models import Level, Recall, RecallEntry, RecallLine
from workshop.aftersales.recalls.scope import contacts_due, scope_of, scope_of_lot
from workshop.aftersales.services import recalls
from workshop.aftersales.services.recall_terms import set_terms
from workshop.core.errors import ActionRefused
from workshop.core.saving.new_tokens import new_token
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, OperationKind, Side, Status, StatusChange

pytestmark = pytest.mark.django_db


def status(lot: Any) -> str:
    lot.refresh_from_db()
    return str(lot.status)


def test_recall_puts_every_lot_made_from_it_and_still_here_on_hold() -> None:
    house, bystander = rooms.House(), make.lot()

    recall = rooms.recall(house.wax)

    assert [status(lot) for lot in (house.wax, house.salve, house.tins)] == ["on_hold"] * 3
    assert status(bystander) == "released"
    assert recall.reference == f"F-{make.MONTH}-01"
    change = StatusChange.objects.filter(lot=house.tins).last()
    assert change is not None
    assert change.reason == f"Recall F-{make.MONTH}-01: It may be rancid"


def test_recall_leaves_used_up_and_rejected_lots_as_they_are() -> None:
    house = rooms.House()
    empty = build.packed((house.salve, 100), units=5)
    dispatch.sent((empty, 5), to=house.shop)
    ledger.set_lot_status(
        house.salve, Status.REJECTED, by=make.user(), at=make.NOON, reason="Burnt"
    )

    rooms.recall(house.wax)

    assert status(empty) == "released"
    assert status(house.salve) == "rejected"


def test_same_token_begins_one_recall() -> None:
    house, token = rooms.House(), new_token()
    first = rooms.recall(house.wax, token=token)

    assert rooms.recall(house.wax, token=token) == first
    assert Recall.objects.count() == 1


def test_lot_is_recalled_once_at_a_time() -> None:
    house = rooms.House()
    rooms.recall(house.wax)

    with pytest.raises(ActionRefused, match=f"Recall F-{make.MONTH}-01 of lot"):
        rooms.recall(house.wax)
    assert Recall.objects.count() == 1


def test_recall_without_a_reason_holds_nothing() -> None:
    house = rooms.House()

    with pytest.raises(ActionRefused, match="Say why it is recalled"):
        rooms.recall(house.wax, reason=" ")
    assert status(house.tins) == "released"


def test_drill_holds_nothing() -> None:
    house = rooms.House()
    drill = rooms.recall(house.wax, is_drill=True)

    assert status(house.tins) == "released"
    with pytest.raises(ActionRefused, match="A drill puts nothing on hold"):
        recalls.hold(drill, by=make.user(), at=make.NOON, token=new_token())


def test_recall_reaches_customers_with_what_was_sent_less_what_came_back() -> None:
    house = rooms.House()
    dispatch.back(house.to_shop, (house.tins, 20))

    reach = scope_of_lot(house.wax)

    assert [
        (str(buyer.customer), int(buyer.sent), int(buyer.back), int(buyer.still_out))
        for buyer in reach.buyers
    ] == [("Ostrell Larder", 300, 20, 280), ("Tollen Baths", 18, 0, 18)]
    assert [int(sum_) for sum_ in (reach.made, reach.on_hand, reach.still_out)] == [480, 182, 298]


def test_lot_that_never_left_is_recovered_from_stock_not_recalled() -> None:
    house = rooms.House()
    kept = build.packed((make.lot(), 100), units=12)

    assert scope_of_lot(kept).is_stock_recovery
    assert not scope_of_lot(house.tins).is_stock_recovery


def test_lot_poured_after_the_recall_began_is_named_and_can_be_held() -> None:
    house = rooms.House()
    batch = ledger.open_operation(OperationKind.BATCH, by=make.user(), at=make.NOON)
    ledger.post(batch, house.wax, Side.IN, Decimal(500), by=make.user(), at=make.NOON)
    recall = rooms.recall(house.wax)
    assert scope_of(recall).open_runs == [batch]

    late = ledger.create_lot(
        build.bulk(),
        origin=batch,
        made_on=make.DAY,
        best_before=None,
        by=make.user(),
        at=make.NOON,
    )
    ledger.post(batch, late, Side.OUT, Decimal(500), by=make.user(), at=make.NOON)
    assert scope_of(recall).lots_to_quarantine == [late]
    recalls.hold(recall, by=make.user(), at=make.NOON, token=new_token())

    assert status(late) == "on_hold"
    assert scope_of(recall).lots_to_quarantine == []


def test_account_adds_up_to_every_unit_made() -> None:
    """The worked example of the usual mock recall formula, its samples among the discarded:
    made 480, stock 132, shipped 318, samples 4, destroyed 20, loss 6."""
    house, by = rooms.House(), make.user()
    for units, why in ((4, "Samples for the laboratory"), (20, "Dented")):
        ledger.discard(
            house.tins, Decimal(units), by=by, at=make.NOON, reason=why, token=new_token()
        )
    ledger.count_lot(
        house.tins, Decimal(132), by=by, at=make.NOON, reason="Six not there", token=new_token()
    )
    closed = rooms.close(rooms.recall(house.wax), {house.tins: 132})

    line = closed.lines.get(lot=house.tins)
    figures = (line.made, line.shelf, line.with_customers, line.discarded, line.lost, line.missing)
    assert [int(figure) for figure in figures] == [480, 132, 318, 24, 6, 0]
    assert scope_of(closed).percent == Decimal("100.00")


def test_units_not_found_on_the_shelf_are_named_as_missing() -> None:
    house = rooms.House()
    closed = rooms.close(rooms.recall(house.tins), {house.tins: 157})

    assert closed.lines.get().missing == 5
    assert scope_of(closed).percent == Decimal("98.96")  # 475 of 480
    assert f"Lot {house.tins}, Hand salve 60 g: 5 units of 480 not found anywhere." in closed.gaps


def test_units_that_left_without_a_customer_are_missing() -> None:
    house, by = rooms.House(), make.user()
    stray = ledger.open_operation(OperationKind.DISPATCH, by=by, at=make.NOON)
    ledger.post(stray, house.tins, Side.IN, Decimal(7), by=by, at=make.NOON)

    reach = scope_of_lot(house.tins)

    assert reach.missing == 7
    assert [part.still_out for part in reach.strays] == [7]


def test_more_sent_than_made_is_more_than_all() -> None:
    house, by = rooms.House(), make.user()
    tins = build.packed((house.salve, 10), units=2)
    batch = ledger.open_operation(OperationKind.DISCARD, by=by, at=make.NOON)
    ledger.post(batch, tins, Side.IN, Decimal(3), by=by, at=make.NOON)

    closed = rooms.close(rooms.recall(tins))

    assert closed.lines.get().missing == -1
    assert "1 unit more accounted for than were made." in closed.gaps


def test_closing_names_the_shelf_not_looked_at_and_the_customer_not_told() -> None:
    house = rooms.House()
    recall = rooms.recall(house.tins)
    house.talk(recall, house.shop, "told")

    closed = rooms.close(recall)

    assert closed.gaps.splitlines() == [
        f"Nobody looked at the shelf for {house.tins}; the book's figure stands.",
        "Level A asks for 2 of 2 customers; notified so far: 1. Not notified: Tollen Baths.",
        "Notified, no response yet: Ostrell Larder.",
    ]


def test_customer_told_who_sent_everything_back_is_not_among_the_unanswered() -> None:
    house = rooms.House()
    recall = rooms.recall(house.tins)
    for customer in (house.shop, house.spa):
        house.talk(recall, customer, "told")
    dispatch.back(house.to_spa, (house.tins, 18))

    closed = rooms.close(recall)

    assert "Notified, no response yet: Ostrell Larder." in closed.gaps.splitlines()


def test_recall_with_everybody_answering_for_every_unit_leaves_no_gap() -> None:
    house = rooms.House()
    recall = rooms.recall(house.tins)
    house.talk(recall, house.shop, "answered", destroyed=Decimal(280), sold_on=Decimal(20))
    house.talk(recall, house.spa, "answered", will_return=Decimal(18))
    dispatch.back(house.to_spa, (house.tins, 18))

    closed = rooms.close(recall, {house.tins: 180})

    assert closed.gaps == ""
    assert (scope_of(closed).told, scope_of(closed).answered) == (2, 2)


def test_customer_who_answers_for_part_only_leaves_a_gap() -> None:
    house = rooms.House()
    recall = rooms.recall(house.tins, level=Level.D)
    house.talk(recall, house.shop, "answered", destroyed=Decimal(100))

    assert contacts_due(recall, scope_of(recall)) == 1
    assert (
        "Ostrell Larder has responded, but not for all: 200 of 300 still out are not said to be"
        " destroyed or sold on."
    ) in rooms.close(recall, {house.tins: 162}).gaps


def test_customer_cannot_answer_for_more_than_they_have() -> None:
    house = rooms.House()
    recall = rooms.recall(house.tins)

    with pytest.raises(ActionRefused, match="Only 18 units are still with Tollen Baths"):
        house.talk(recall, house.spa, "answered", destroyed=Decimal(10), sold_on=Decimal(9))
    with pytest.raises(ActionRefused, match="Units are told by an answer"):
        house.talk(recall, house.spa, "told", destroyed=Decimal(10))
    with pytest.raises(ActionRefused, match="was sent none of these lots"):
        house.talk(recall, dispatch.customer("Nobody"), "told")
    assert not recall.entries.filter(customer__isnull=False).exists()


def test_closing_needs_a_cause_but_a_drill_does_not() -> None:
    house = rooms.House()
    recall, drill = rooms.recall(house.tins), rooms.recall(house.wax, is_drill=True)

    with pytest.raises(ActionRefused, match="Name the cause"):
        rooms.close(recall, cause=" ")
    recall.refresh_from_db()
    assert not recall.is_closed
    assert rooms.close(drill, cause="").is_closed


def test_closed_recall_keeps_the_figures_of_that_moment() -> None:
    house = rooms.House()
    closed = rooms.close(rooms.recall(house.tins))
    later = make.NOON + timedelta(days=2)
    by = make.user()
    ledger.set_lot_status(house.tins, Status.RELEASED, by=by, at=later, reason="Looked at")
    sent = ledger.open_operation(OperationKind.DISPATCH, by=by, at=later)
    ledger.post(sent, house.tins, Side.IN, Decimal(50), by=by, at=later)

    reach = scope_of(closed)

    assert [int(sum_) for sum_ in (reach.on_hand, reach.still_out, reach.missing)] == [162, 318, 0]
    assert reach.strays == []
    with pytest.raises(ActionRefused, match=f"F-{make.MONTH}-01 is closed"):
        rooms.close(closed)


def test_drill_tells_how_long_it_took() -> None:
    house = rooms.House()
    drill = rooms.recall(house.wax, is_drill=True)

    done = rooms.close(drill, at=make.NOON + timedelta(minutes=3, seconds=5))

    assert done.took_shown == "0:03:05"


def test_terms_are_changed_with_a_reason() -> None:
    recall = rooms.recall(rooms.House().tins)
    terms: dict[str, Any] = {"hazard": "2", "depth": "consumer", "level": "B"}
    now: dict[str, Any] = {"by": make.user(), "at": make.NOON}

    with pytest.raises(ActionRefused, match="Say who decided so"):
        set_terms(recall, **terms, words="", token=new_token(), **now)
    changed = set_terms(recall, **terms, words="By letter", token=new_token(), **now)

    assert (changed.hazard, changed.depth, changed.level) == ("2", "consumer", "B")
    assert "Class II: passing harm" in recall.entries.get(what="terms").words


def test_everything_sent_twice_is_written_once() -> None:
    house, token = rooms.House(), new_token()
    recall = rooms.recall(house.tins)
    for _ in range(2):
        house.talk(recall, house.shop, "told", token=token)
    noted: dict[str, Any] = {"by": make.user(), "at": make.NOON, "token": new_token()}
    for _ in range(2):
        recalls.note(recall, "The authority called back.", **noted)

    assert [entry.what for entry in recall.entries.all()] == ["started", "held", "told", "noted"]


def test_number_of_queries_is_the_same_for_many_lots_and_customers() -> None:
    house = rooms.House()
    recall = rooms.recall(house.wax)
    with CaptureQueriesContext(connection) as few:
        scope_of(recall)
    for number in range(12):
        tins = build.packed((house.salve, 1), units=2)
        dispatch.sent((tins, 1), to=dispatch.customer(f"Shop {number}"))

    with CaptureQueriesContext(connection) as many:
        reach = scope_of(recall)

    assert (len(reach.lines), len(reach.buyers)) == (15, 14)
    assert len(many) == len(few)


@pytest.mark.parametrize(
    "values",
    [
        {"reason": ""},
        {"hazard": "9"},
        {"closed_at": make.NOON},
        {"closed_at": make.NOON - timedelta(days=1), "cause": "x"},
    ],
)
def test_recall_table_keeps_its_rules(values: dict[str, Any]) -> None:
    recall = rooms.recall(rooms.House().tins)

    with pytest.raises(IntegrityError), transaction.atomic():
        Recall.objects.filter(pk=recall.pk).update(**values)


def test_recall_log_and_report_only_grow() -> None:
    closed = rooms.close(rooms.recall(rooms.House().tins))

    for rows in (RecallEntry.objects.all(), RecallLine.objects.all()):
        with pytest.raises(IntegrityError, match="only ever added"), transaction.atomic():
            rows.update(recall=closed)
        with pytest.raises(IntegrityError, match="only ever added"), transaction.atomic():
            rows.delete()


@pytest.mark.parametrize(
    "values",
    [
        {"what": "told"},
        {"what": "noted", "means": "drum"},
        {"what": "noted", "destroyed": Decimal(-1)},
    ],
)
def test_recall_log_table_keeps_its_rules(values: dict[str, Any]) -> None:
    recall = rooms.recall(rooms.House().tins)

    with pytest.raises(IntegrityError), transaction.atomic():
        RecallEntry.objects.create(
            recall=recall, at=make.NOON, by=make.user(), token=new_token(), **values
        )


def test_packaging_can_be_recalled_as_well() -> None:
    tin = make.lot(make.item(ItemKind.PACKAGING), on_hand=50)
    finished = build.packed((tin, 10), (make.lot(), 100), units=10)

    rooms.recall(tin)

    assert status(finished) == "on_hold"
