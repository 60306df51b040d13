"""Each act upon a lot by itself: sent twice, refused beside its field, kept as it was told."""

from datetime import timedelta
from decimal import Decimal
from functools import partial
from itertools import chain, count
from typing import Any

import pytest

from tests import make
from tests.resent import bound_to, refused
from workshop.core.errors import ActionRefused
from workshop.core.saving.new_tokens import new_token
from workshop.ledger import services as ledger
from workshop.ledger.models import (
    Correction,
    Lot,
    LotCount,
    OperationKind,
    Place,
    PlaceKind,
    ShedKind,
    Side,
    Status,
    StatusChange,
)
from workshop.ledger.services import amendments
from workshop.ledger.services.losses import shed_in_store
from workshop.ledger.services.postings import LARGEST
from workshop.rules.codes.place_codes import DRAWN

pytestmark = pytest.mark.django_db
LATER = make.NOON + timedelta(hours=1)
TEN = Decimal(10)


def place(name: str = "Shelf 1", **values: Any) -> Place:
    values = {"kind": PlaceKind.CUPBOARD, "by": make.user(), "at": make.NOON, **values}
    return ledger.save_place(name=name, **values)


def test_place_keeps_its_words_and_its_code_for_ever() -> None:
    shelf = place(" Shelf 1 ", draw=lambda choices: 3 % choices)
    code = shelf.code
    assert (shelf.name, shelf.kind, shelf.is_active) == ("Shelf 1", PlaceKind.CUPBOARD, True)

    changed = place("Rack", kind=PlaceKind.RACK, is_active=False, place=shelf)
    changed.refresh_from_db()
    assert (changed.pk, changed.code) == (shelf.pk, code)
    assert (changed.name, changed.kind, changed.is_active) == ("Rack", PlaceKind.RACK, False)
    # A code that is taken is drawn anew.
    draws = chain([3] * DRAWN, count(4))
    other = place("Shelf 2", draw=lambda choices: next(draws) % choices)
    assert other.code != code


def test_putting_is_bound_to_its_lots_its_place_and_its_spot() -> None:
    first, second = make.lot(), make.lot()
    shelf, person = place(), make.user()
    sent: dict[str, Any] = {"lots": [first, second], "place": shelf, "spot": " Left "}

    def put(**content: Any) -> Any:
        return ledger.put_in_place(**content, by=person, at=LATER, token="put")

    bound_to(put, sent, {"lots": [first], "place": place("Shelf 2"), "spot": "Right"})
    rows = put(**sent)
    assert [(row.lot, row.place, row.spot) for row in rows] == [
        (first, shelf, "Left"),
        (second, shelf, "Left"),
    ]
    assert {(row.by, row.at) for row in rows} == {(person, LATER)}
    again: dict[str, Any] = {"by": person, "at": LATER, "token": new_token()}
    refused(partial(ledger.put_in_place, [], shelf, **again), "Scan at least one lot.", "lots")
    closed = place("Old", is_active=False)
    refused(partial(ledger.put_in_place, [first], closed, **again), "is out of use", "place")


@pytest.mark.parametrize(
    ("counted", "side", "moved"),
    [("1010", Side.OUT, "10"), ("990", Side.IN, "10"), ("0", Side.IN, "1000"), ("1000", None, "0")],
)
def test_count_sets_the_book_to_what_was_found(counted: str, side: Side | None, moved: str) -> None:
    lot, person = make.lot(on_hand=1000), make.user()
    sent: dict[str, Any] = {"lot": lot, "counted": Decimal(counted), "reason": " Spilt "}

    def recount(**content: Any) -> Any:
        return ledger.count_lot(**content, by=person, at=LATER, token="count")

    bound_to(recount, sent, {"lot": make.lot(), "counted": Decimal(5), "reason": "Gone"})
    done = recount(**sent)
    rows = [(row.side, row.moved, row.reason, row.by, row.at) for row in done.postings.all()]
    told = ("Spilt", person, LATER)
    assert rows == ([] if side is None else [(side, Decimal(moved), *told)])
    row = LotCount.objects.get(operation=done)
    assert (row.lot, row.counted, row.book, row.counted_at) == (
        lot, Decimal(counted), Decimal(1000), LATER,
    )  # fmt: skip
    assert (done.kind, done.is_closed, ledger.on_hand(lot)) == ("count", True, Decimal(counted))


def test_earlier_count_is_held_against_the_book_of_its_moment() -> None:
    lot = make.lot(on_hand=1000)
    ledger.discard(lot, TEN, by=make.user(), at=LATER, reason="Mould", token=new_token())
    before = LATER - timedelta(minutes=1)

    done = ledger.count_lot(
        lot, Decimal(995), by=make.user(), at=LATER, counted_at=before, reason="x", token="c"
    )

    row = LotCount.objects.get(operation=done)
    assert (row.book, row.counted_at, done.opened_at) == (Decimal(1000), before, before)
    assert ledger.on_hand(lot) == 985


@pytest.mark.parametrize(
    ("counted", "reason", "sentence", "field"),
    [
        ("-0.001", "x", "A counted quantity is not below zero.", "counted"),
        (str(LARGEST), "x", "A counted quantity is not below zero.", "counted"),
        ("999", " ", "The book says otherwise: say why, as far as you know.", "reason"),
    ],
)
def test_count_that_cannot_be_is_told_beside_its_field(
    counted: str, reason: str, sentence: str, field: str
) -> None:
    lot = make.lot(on_hand=1000)
    act: dict[str, Any] = {"by": make.user(), "at": LATER, "token": new_token()}

    refused(partial(ledger.count_lot, lot, Decimal(counted), reason=reason, **act), sentence, field)
    # As the book says, it takes no reason.
    assert ledger.count_lot(lot, Decimal(1000), reason="", **act).is_closed


def test_writing_off_is_bound_to_its_lot_quantity_and_reason() -> None:
    lot, person = make.lot(on_hand=100), make.user()
    sent: dict[str, Any] = {"lot": lot, "quantity": TEN, "reason": " Mould "}

    def discard(**content: Any) -> Any:
        return ledger.discard(**content, by=person, at=LATER, token="off")

    refused(partial(discard, **{**sent, "reason": " "}), "Say why it is written off.", "reason")
    bound_to(discard, sent, {"lot": make.lot(), "quantity": Decimal(11), "reason": "Rancid"})
    done = discard(**sent)
    (row,) = done.postings.all()
    assert (row.lot, row.side, row.moved, row.reason) == (lot, Side.IN, TEN, "Mould")
    assert (row.by, row.at, done.kind, done.is_closed) == (person, LATER, "discard", True)
    more = {**sent, "quantity": Decimal("90.001")}
    with pytest.raises(ActionRefused):
        ledger.discard(**more, by=person, at=LATER, token=new_token())
    assert ledger.on_hand(lot) == 90


@pytest.mark.parametrize("is_estimated", [True, False])
def test_loss_in_store_is_bound_to_lot_kind_grams_and_reason(is_estimated: bool) -> None:  # noqa: FBT001 -- a column of the table
    lot, person = make.lot(make.item(), on_hand=100), make.user()
    sent: dict[str, Any] = {"lot": lot, "kind": ShedKind.DRIED, "grams": TEN, "reason": "Warm"}

    def lose(**content: Any) -> Any:
        return shed_in_store(
            **content, is_estimated=is_estimated, by=person, at=LATER, token="shed"
        )

    bound_to(lose, sent, {
        "lot": make.lot(), "kind": ShedKind.TRIMMED, "grams": Decimal(9), "reason": "Cold",
    })  # fmt: skip
    done = lose(**sent)
    row = done.sheds.get()
    assert (row.kind, row.quantity, row.lot, row.is_estimated) == ("dried", TEN, lot, is_estimated)
    assert (row.reason, row.by, row.at) == ("Warm", person, LATER)
    assert done.postings.get().reason == "Warm"
    assert done.kind == OperationKind.SHED
    assert ledger.on_hand(lot) == 90


def test_opened_record_keeps_what_each_fact_was_by_whom_and_why() -> None:
    lot, owner = make.lot(), make.user()
    done = ledger.discard(lot, TEN, by=owner, at=make.NOON, reason="Mould", token=new_token())

    amendment = amendments.begin_amendment(done, by=owner, at=LATER, reason="R" * 400)

    assert (amendment.by, amendment.at, amendment.reason) == (owner, LATER, "R" * 300)
    same = amendments.Fact("place", "A", "A")
    refused(partial(amendments.note_facts, amendment, [same]), "Nothing is different.")
    facts = [same, amendments.Fact("lot", "A", "B", lot), amendments.Fact("day", "1", "2")]
    assert amendments.note_facts(amendment, facts) == [*Correction.objects.all()]
    assert [*Correction.objects.values_list("fact", "was", "now", "lot")] == [
        ("lot", "A", "B", lot.pk),
        ("day", "1", "2", None),
    ]


def test_what_used_a_lot_stands_in_the_way_by_its_reference() -> None:
    lot, other, free = make.lot(), make.lot(), make.lot()
    act: dict[str, Any] = {"by": make.user(), "at": make.NOON, "reason": "Mould"}
    first = ledger.discard(lot, TEN, token=new_token(), **act)
    second = ledger.discard(other, TEN, token=new_token(), **act)

    found = amendments.obstacle([lot, other, free], of=lot.origin)
    assert found is not None
    references = [one.reference for one in (first, second)]
    assert found.references[-2:] == references
    assert f"lot {lot} is in {first.reference}" in found.message
    assert amendments.obstacle([make.lot(on_hand=0)], of=first) is None
    assert amendments.obstacle([], of=first) is None


def test_lots_that_were_never_there_are_rejected_with_the_reason() -> None:
    lot, gone, owner = make.lot(), make.lot(status=Status.REJECTED), make.user()
    before = StatusChange.objects.filter(lot=gone).count()

    amendments.void_lots(
        Lot.objects.filter(pk__in=[lot.pk, gone.pk]), by=owner, at=LATER, reason=" Twice " * 60
    )

    change = StatusChange.objects.filter(lot=lot).latest("pk")
    assert (change.now, change.by, change.at) == ("rejected", owner, LATER)
    assert change.reason == f"Taken back: {(' Twice ' * 60).strip()}"[:300]
    assert StatusChange.objects.filter(lot=gone).count() == before
