"""What the database itself refuses, past any code of ours."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction

from tests import make
from workshop.ledger import services
from workshop.ledger.models import (
    Amendment,
    Item,
    ItemKind,
    Lot,
    Operation,
    OperationKind,
    Posting,
    Seal,
    Side,
    Status,
    StatusChange,
    Unit,
)

pytestmark = pytest.mark.django_db


def refuses(act: Callable[[], Any]) -> str:
    """The database's own words when it refuses `act`."""
    with pytest.raises(IntegrityError) as refusal, transaction.atomic():
        act()
    return str(refusal.value)


def raw(sql: str) -> Callable[[], None]:
    def run() -> None:
        with connection.cursor() as cursor:
            cursor.execute(sql)

    return run


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE ledger_posting SET quantity = 5",
        "DELETE FROM ledger_posting",
        "UPDATE ledger_statuschange SET reason = 'x'",
        "DELETE FROM ledger_statuschange",
        "UPDATE ledger_datechange SET reason = 'x'",
        "DELETE FROM ledger_datechange",
        "UPDATE ledger_seal SET record = '{}'",
        "DELETE FROM ledger_seal",
    ],
)
def test_rows_of_the_ledger_are_only_added(sql: str) -> None:
    lot, owner = make.lot(), make.user()
    services.change_best_before(lot, make.DAY, by=owner, at=make.NOON, reason="as the sheet says")

    assert "only ever added" in refuses(raw(sql))


@pytest.mark.parametrize("sql", ["DELETE FROM ledger_lot", "DELETE FROM ledger_operation"])
def test_lots_and_operations_are_never_removed(sql: str) -> None:
    make.lot()

    assert "never removed" in refuses(raw(sql))


@pytest.mark.parametrize(
    "act",
    [
        OperationKind.RECEIPT,
        OperationKind.DISPATCH,
        OperationKind.RETURN,
        OperationKind.COUNT,
        OperationKind.DISCARD,
    ],
)
@pytest.mark.parametrize(("first", "second"), [(Side.IN, Side.OUT), (Side.OUT, Side.IN)])
def test_only_a_batch_and_a_packing_run_have_both_sides(
    act: OperationKind, first: Side, second: Side
) -> None:
    """The walk through the family tree relies on it."""
    lot, other = make.lot(on_hand=10), make.lot(on_hand=10)
    operation = make.operation(act)
    by = operation.opened_by
    services.post(operation, lot, first, Decimal(1), by=by, at=make.NOON)

    assert "both take lots and make one" in refuses(
        lambda: services.post(operation, other, second, Decimal(1), by=by, at=make.NOON)
    )


def test_posting_into_a_closed_operation_is_refused() -> None:
    lot = make.lot()

    def post() -> None:
        Posting.objects.create(
            operation=lot.origin,
            lot=lot,
            side=Side.OUT,
            quantity=Decimal(1),
            at=make.NOON,
            by=make.user(),
            token="t",
        )

    assert "is closed" in refuses(post)


@pytest.mark.parametrize(
    "other",
    [{"quantity": Decimal(39)}, {"side": Side.OUT, "quantity": Decimal(-40)}, {"lot": None}],
)
def test_reversal_that_does_not_fit_is_refused(other: dict[str, Any]) -> None:
    batch, lot = make.operation(OperationKind.BATCH), make.lot()
    taken = services.post(batch, lot, Side.IN, Decimal(40), by=batch.opened_by, at=make.NOON)
    if "lot" in other:
        other = {"lot": make.lot()}
    values: dict[str, Any] = {"lot": lot, "side": Side.IN, "quantity": Decimal(40), **other}

    def reverse() -> None:
        Posting.objects.create(
            operation=batch,
            at=make.NOON,
            by=batch.opened_by,
            token="t",
            corrects=taken,
            reason="wrong",
            **values,
        )

    assert "takes back one posting whole" in refuses(reverse)


def test_closed_operation_is_not_quietly_opened() -> None:
    make.lot()

    assert "opened again only by an amendment" in refuses(
        raw("UPDATE ledger_operation SET closed_at = NULL, closed_by_id = NULL")
    )


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE ledger_operation SET kind = 'count'",
        "UPDATE ledger_operation SET reference = 'X'",
        "UPDATE ledger_operation SET token = 'other'",
    ],
)
def test_operation_stays_what_it_is(sql: str) -> None:
    make.lot()

    assert "does not change" in refuses(raw(sql))


def test_lot_keeps_its_code() -> None:
    make.lot()

    assert "keeps its item, its code" in refuses(raw("UPDATE ledger_lot SET code = 'ABCDEFG'"))


def posting_of(**values: Any) -> Callable[[], Posting]:
    """An attempt at a posting row with something wrong in it."""
    batch, lot = make.operation(OperationKind.BATCH), make.lot()
    row: dict[str, Any] = {
        "operation": batch,
        "lot": lot,
        "side": Side.IN,
        "quantity": Decimal(-1),
        "at": make.NOON,
        "by": batch.opened_by,
        "token": "t",
        **values,
    }
    return lambda: Posting.objects.create(**row)


@pytest.mark.parametrize(
    ("constraint", "values"),
    [
        ("posting_sign_fits_side", {"quantity": Decimal(1)}),
        ("posting_sign_fits_side", {"quantity": Decimal(0)}),
        ("posting_sign_fits_side", {"side": Side.OUT}),
        ("posting_has_a_token", {"token": ""}),
        ("posting_side", {"side": "up"}),
    ],
)
def test_posting_that_breaks_a_rule_alone_is_refused(
    constraint: str, values: dict[str, Any]
) -> None:
    assert constraint in refuses(posting_of(**values))


def test_reversal_without_a_reason_is_refused_by_the_table() -> None:
    batch, lot = make.operation(OperationKind.BATCH), make.lot()
    taken = services.post(batch, lot, Side.IN, Decimal(1), by=batch.opened_by, at=make.NOON)
    row = {"operation": batch, "lot": lot, "quantity": Decimal(1), "corrects": taken}

    assert "posting_reversal_says_why" in refuses(posting_of(**row))


@pytest.mark.parametrize(
    ("constraint", "row"),
    [
        ("item_unit_fits_kind", {"kind": ItemKind.BULK, "unit": Unit.EACH}),
        ("item_unit_fits_kind", {"kind": ItemKind.PRODUCT, "unit": Unit.GRAM}),
        ("item_kind_is_known", {"kind": "thing", "unit": Unit.GRAM}),
        ("item_unit_is_known", {"kind": ItemKind.MATERIAL, "unit": "oz"}),
    ],
)
def test_item_that_cannot_be_is_refused(constraint: str, row: dict[str, Any]) -> None:
    words = refuses(lambda: Item.objects.create(code="A", name="a", **row))

    assert "item_" in words
    assert constraint in words or "item_unit_fits_kind" in words


@pytest.mark.parametrize(
    ("constraint", "row"),
    [
        ("lot_date_not_before_made", {"best_before": make.day(-1)}),
        ("lot_status_is_known", {"status": "lost"}),
        ("lot_has_a_code", {"code": ""}),
    ],
)
def test_lot_that_cannot_be_is_refused(constraint: str, row: dict[str, Any]) -> None:
    values = {"code": "ABCDEFG", "made_on": make.DAY, **row}
    item, receipt = make.item(), make.operation()

    assert constraint in refuses(lambda: Lot.objects.create(item=item, origin=receipt, **values))


def test_status_that_says_no_reason_is_refused() -> None:
    lot, owner = make.lot(), make.user()

    assert "status_change_says_why" in refuses(
        lambda: StatusChange.objects.create(
            lot=lot, was=Status.RELEASED, now=Status.ON_HOLD, at=make.NOON, by=owner
        )
    )
    assert "status_change_is_known" in refuses(
        lambda: StatusChange.objects.create(lot=lot, now="lost", at=make.NOON, by=owner, reason="x")
    )


def test_operation_that_cannot_be_is_refused() -> None:
    owner = make.user()
    row = {"reference": "Z", "token": "t", "opened_at": make.NOON, "opened_by": owner}

    assert "operation_kind_is_known" in refuses(
        lambda: Operation.objects.create(**{**row, "kind": "magic"})
    )
    assert "operation_has_a_token" in refuses(
        lambda: Operation.objects.create(**{**row, "kind": OperationKind.COUNT, "token": ""})
    )
    assert "operation_closed_by_somebody" in refuses(
        lambda: Operation.objects.create(
            **{**row, "kind": OperationKind.COUNT, "closed_at": make.NOON}
        )
    )


def test_amendment_without_a_reason_is_refused() -> None:
    lot, owner = make.lot(), make.user()

    assert "amendment_says_why" in refuses(
        lambda: Amendment.objects.create(operation=lot.origin, at=make.NOON, by=owner, reason="")
    )


def test_seal_cannot_follow_the_same_seal_twice() -> None:
    make.lot()
    seal = Seal.objects.get()
    seal.pk, seal.number, seal.digest = None, 2, "f" * 64

    assert "previous" in refuses(seal.save)
