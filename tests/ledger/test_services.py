"""What can happen to the ledger, and what it refuses."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from tests import make
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.ledger import services
from workshop.ledger.models import Item, ItemKind, Lot, OperationKind, Posting, Side, Status
from workshop.rules.codes.lot_codes import is_lot_code

pytestmark = pytest.mark.django_db


def batch_of(*lots: Lot, grams: int = 100) -> Any:
    batch = make.operation(OperationKind.BATCH)
    for lot in lots:
        services.post(batch, lot, Side.IN, Decimal(grams), by=batch.opened_by, at=make.NOON)
    return batch


def made_in(batch: Any, grams: int, of: Item | None = None) -> Lot:
    lot = services.create_lot(
        of or make.item(ItemKind.BULK),
        origin=batch,
        made_on=make.DAY,
        best_before=None,
        by=batch.opened_by,
        at=make.NOON,
    )
    services.post(batch, lot, Side.OUT, Decimal(grams), by=batch.opened_by, at=make.NOON)
    return lot


def test_operation_gets_its_kind_month_and_number() -> None:
    first, second = make.operation(OperationKind.BATCH), make.operation(OperationKind.BATCH)
    other = make.operation(OperationKind.DISPATCH)

    assert [first.reference, second.reference] == [f"K-{make.MONTH}-01", f"K-{make.MONTH}-02"]
    assert other.reference == f"D-{make.MONTH}-01"


def test_operation_opened_again_with_its_token_is_the_same_one() -> None:
    person = make.user()
    first = make.operation(OperationKind.BATCH, by=person, token="a")

    assert make.operation(OperationKind.BATCH, by=person, token="a") == first
    with pytest.raises(ActionRefused, match="already sent with other figures"):
        make.operation(OperationKind.COUNT, by=person, token="a")


def test_lot_gets_a_code_that_checks() -> None:
    lot = make.lot()

    assert is_lot_code(lot.code)
    assert lot.shown_code == f"{lot.code[:4]}-{lot.code[4:]}"


def test_lot_holds_what_came_in_less_what_was_taken() -> None:
    oil = make.lot(on_hand=Decimal("1000.5"))

    batch_of(oil, grams=250)

    assert services.on_hand(oil) == Decimal("750.5")
    assert Lot.objects.with_on_hand().get(pk=oil.pk).on_hand == Decimal("750.5")


def test_posting_sent_twice_is_written_once() -> None:
    oil, batch = make.lot(on_hand=100), make.operation(OperationKind.BATCH)

    def send() -> Posting:
        return services.post(
            batch, oil, Side.IN, Decimal("62.4"), by=batch.opened_by, at=make.NOON, token="t"
        )

    assert send() == send()
    assert services.on_hand(oil) == Decimal("37.6")


def test_posting_token_with_other_figures_is_refused() -> None:
    oil, batch = make.lot(), make.operation(OperationKind.BATCH)
    by = batch.opened_by
    services.post(batch, oil, Side.IN, Decimal(1), by=by, at=make.NOON, token="t")

    with pytest.raises(ActionRefused, match="other figures"):
        services.post(batch, oil, Side.IN, Decimal(2), by=by, at=make.NOON, token="t")


@pytest.mark.parametrize(
    ("quantity", "sentence"),
    [
        ("0", "above zero"),
        ("-1", "above zero"),
        ("NaN", "above zero"),
        ("0.0001", "three decimal places"),
        ("1e12", "implausibly large"),
    ],
)
def test_posting_of_an_odd_quantity_is_refused(quantity: str, sentence: str) -> None:
    oil, batch = make.lot(), make.operation(OperationKind.BATCH)

    with pytest.raises(ActionRefused, match=sentence):
        services.post(batch, oil, Side.IN, Decimal(quantity), by=batch.opened_by, at=make.NOON)

    assert not batch.postings.exists()


def test_posting_of_half_a_tin_is_refused() -> None:
    tins, run = (
        make.lot(make.item(ItemKind.PACKAGING), on_hand=10),
        make.operation(OperationKind.PACKING),
    )

    with pytest.raises(ActionRefused, match="whole pieces"):
        services.post(run, tins, Side.IN, Decimal("0.5"), by=run.opened_by, at=make.NOON)


def test_kettle_goes_on_when_the_book_holds_less() -> None:
    wax = make.lot(on_hand=3)

    batch_of(wax, grams=5)

    assert [lot.on_hand for lot in Lot.objects.below_zero()] == [Decimal(-2)]


def test_withdrawal_of_more_than_there_is_is_refused() -> None:
    tins, dispatch = (
        make.lot(make.item(ItemKind.PRODUCT), on_hand=3),
        make.operation(OperationKind.DISPATCH),
    )

    with pytest.raises(ActionRefused, match=r"holds 3, not 4\."):
        services.withdraw(dispatch, tins, Decimal(4), by=dispatch.opened_by, at=make.NOON)

    assert services.on_hand(tins) == 3


def test_reversal_takes_one_posting_back_whole() -> None:
    oil = make.lot(on_hand=100)
    batch = batch_of(oil, grams=40)
    taken = batch.postings.get()

    back = services.reverse(taken, by=batch.opened_by, at=make.NOON, reason="read wrongly")

    assert (back.corrects, back.quantity) == (taken, Decimal(40))
    assert services.on_hand(oil) == 100
    with pytest.raises(ActionRefused, match="already taken back"):
        services.reverse(taken, by=batch.opened_by, at=make.NOON, reason="again")
    with pytest.raises(ActionRefused, match="takes another one back"):
        services.reverse(back, by=batch.opened_by, at=make.NOON, reason="again")


def test_reversal_without_a_reason_is_refused() -> None:
    batch = batch_of(make.lot())

    with pytest.raises(ActionRefused, match="Say why"):
        services.reverse(batch.postings.get(), by=batch.opened_by, at=make.NOON, reason=" ")


def test_closed_operation_takes_nothing_more() -> None:
    oil = make.lot()
    batch = batch_of(oil)
    services.close_operation(batch, by=batch.opened_by, at=make.NOON)

    with pytest.raises(ActionRefused, match="is closed"):
        services.post(batch, oil, Side.IN, Decimal(1), by=batch.opened_by, at=make.NOON)
    with pytest.raises(ActionRefused, match="closed already"):
        services.close_operation(batch, by=batch.opened_by, at=make.NOON)


def test_amendment_is_the_owners_and_is_sealed_too() -> None:
    owner, maker = make.user(), make.user(Role.MAKER)
    oil = make.lot()
    batch = batch_of(oil)
    services.close_operation(batch, by=owner, at=make.NOON)

    with pytest.raises(ActionRefused, match="Only an owner"):
        services.amend_operation(batch, by=maker, at=make.NOON, reason="forgot one")
    with pytest.raises(ActionRefused, match="Say why"):
        services.amend_operation(batch, by=owner, at=make.NOON, reason="")
    services.amend_operation(batch, by=owner, at=make.NOON, reason="a line was forgotten")
    services.post(batch, oil, Side.IN, Decimal(1), by=owner, at=make.NOON)
    services.close_operation(batch, by=owner, at=make.NOON)

    assert batch.seals.count() == 2


def test_lot_cannot_go_into_the_batch_it_came_from() -> None:
    batch = batch_of(make.lot())
    melt = made_in(batch, 90)

    with pytest.raises(ActionRefused, match="made from this batch"):
        services.post(batch, melt, Side.IN, Decimal(1), by=batch.opened_by, at=make.NOON)


def test_lot_cannot_go_into_a_batch_that_it_descends_from() -> None:
    first = batch_of(make.lot())
    melt = made_in(first, 90)
    later = batch_of(melt, grams=10)
    rework = made_in(later, 9)

    with pytest.raises(ActionRefused, match="made from this batch"):
        services.post(first, rework, Side.IN, Decimal(1), by=first.opened_by, at=make.NOON)


def test_batch_puts_out_only_lots_of_its_own() -> None:
    batch, other = batch_of(make.lot()), make.lot()

    with pytest.raises(ActionRefused, match="was not made in"):
        services.post(batch, other, Side.OUT, Decimal(1), by=batch.opened_by, at=make.NOON)


def test_status_says_who_when_and_why() -> None:
    owner, lot = make.user(), make.lot()

    services.set_lot_status(lot, Status.ON_HOLD, by=owner, at=make.NOON, reason="smells rancid")

    change = lot.status_changes.last()
    assert change is not None
    assert (change.was, change.now, change.by, change.reason) == (
        "released",
        "on_hold",
        owner,
        "smells rancid",
    )
    with pytest.raises(ActionRefused, match="already on hold"):
        services.set_lot_status(lot, Status.ON_HOLD, by=owner, at=make.NOON, reason="again")
    with pytest.raises(ActionRefused, match="Say why"):
        services.set_lot_status(lot, Status.REJECTED, by=owner, at=make.NOON)


def test_lots_are_offered_first_expired_first() -> None:
    oil = make.item()
    late = make.lot(oil, best_before=make.day(months=24))
    soon = make.lot(oil, best_before=make.day(months=12))
    undated = make.lot(oil)
    last_good_day = make.lot(oil, best_before=make.DAY)
    make.lot(oil, best_before=make.day(-1), made_on=make.day(-24))
    make.lot(oil, status=Status.QUARANTINE)
    make.lot(oil, on_hand=0)

    assert list(Lot.objects.filter(item=oil).available(on=make.DAY)) == [
        last_good_day,
        soon,
        late,
        undated,
    ]


def test_count_sets_the_book_to_what_is_there() -> None:
    owner, lot = make.user(), make.lot(on_hand=100)

    services.count_lot(
        lot, Decimal("97.5"), by=owner, at=make.NOON, reason="spilt while pouring", token="c"
    )
    services.count_lot(
        lot, Decimal("97.5"), by=owner, at=make.NOON, reason="spilt while pouring", token="c"
    )

    assert services.on_hand(lot) == Decimal("97.5")


def test_count_that_differs_needs_a_reason() -> None:
    lot = make.lot(on_hand=100)

    with pytest.raises(ActionRefused, match="say why"):
        services.count_lot(lot, Decimal(99), by=make.user(), at=make.NOON, reason="", token="c")

    assert services.on_hand(lot) == 100


def test_discard_takes_no_more_than_there_is() -> None:
    owner, lot = make.user(), make.lot(on_hand=100)

    services.discard(lot, Decimal(40), by=owner, at=make.NOON, reason="mould", token="x")
    with pytest.raises(ActionRefused, match="holds 60"):
        services.discard(lot, Decimal(61), by=owner, at=make.NOON, reason="mould", token="y")

    assert services.on_hand(lot) == 60


def test_lot_gets_another_date_with_who_when_and_why() -> None:
    owner, lot = make.user(), make.lot(best_before=make.DAY)
    later = make.DAY + timedelta(days=90)

    services.change_best_before(lot, later, by=owner, at=make.NOON, reason=" tested again ")

    lot.refresh_from_db()
    change = lot.date_changes.get()
    assert lot.best_before == later
    assert (change.was, change.now, change.by, change.reason) == (
        make.DAY,
        later,
        owner,
        "tested again",
    )


def test_lot_that_keeps_its_date_has_no_change() -> None:
    lot = make.lot(best_before=make.DAY)

    services.change_best_before(lot, make.DAY, by=make.user(), at=make.NOON, reason="")

    assert not lot.date_changes.exists()


@pytest.mark.parametrize(
    ("days", "reason", "sentence"),
    [(1, " ", "Say why"), (-1, "tested again", "after this date")],
)
def test_another_date_is_refused(days: int, reason: str, sentence: str) -> None:
    lot = make.lot(best_before=make.DAY)
    other = make.DAY + timedelta(days=days)

    with pytest.raises(ActionRefused, match=sentence):
        services.change_best_before(lot, other, by=make.user(), at=make.NOON, reason=reason)

    lot.refresh_from_db()
    assert lot.best_before == make.DAY
    assert not lot.date_changes.exists()
