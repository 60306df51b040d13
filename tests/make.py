"""Builders for tests: each makes one thing with sensible defaults, through the services."""

import json
from datetime import date
from decimal import Decimal
from itertools import count
from typing import Any

from tests.clock import DAY, MONTH, NOON, day, iso, shown
from workshop.core.models import Role, User
from workshop.core.signature import Confirmed
from workshop.ledger import services as ledger
from workshop.ledger.models import Item, ItemKind, Lot, Operation, OperationKind, Side, Status, Unit

__all__ = ["DAY", "MONTH", "NOON", "day", "iso", "shown"]  # the clock's, beside the builders

_number = count(1)


def user(role: Role = Role.OWNER, **values: Any) -> User:
    values.setdefault("username", f"{role}{next(_number)}")
    values.setdefault("first_name", str(role).title())
    person = User(role=role, **values)
    person.set_unusable_password()
    person.save()
    return person


def item(kind: ItemKind = ItemKind.MATERIAL, **values: Any) -> Item:
    number = next(_number)
    values.setdefault("code", f"{kind[:3].upper()}-{number}")
    values.setdefault("name", f"{kind.label} {number}")
    values.setdefault(
        "unit", Unit.EACH if kind in (ItemKind.PRODUCT, ItemKind.PACKAGING) else Unit.GRAM
    )
    return Item.objects.create(kind=kind, **values)


def operation(
    kind: OperationKind = OperationKind.RECEIPT, *, by: User | None = None, **values: Any
) -> Operation:
    values.setdefault("at", NOON)
    return ledger.open_operation(kind, by=by or user(), **values)


def lot(
    of: Item | None = None,
    *,
    on_hand: Decimal | int = 1000,
    status: Status = Status.RELEASED,
    made_on: date = DAY,
    best_before: date | None = None,
    by: User | None = None,
) -> Lot:
    """A lot that came in by a closed receipt of its own."""
    by = by or user()
    receipt = operation(by=by)
    made = ledger.create_lot(
        of or item(),
        origin=receipt,
        made_on=made_on,
        best_before=best_before,
        status=status,
        by=by,
        at=NOON,
    )
    if on_hand:
        ledger.post(receipt, made, Side.OUT, Decimal(on_hand), by=by, at=NOON)
    ledger.close_operation(receipt, by=by, at=NOON)
    return made


def bulk_of(batch: Operation) -> Lot:
    """An empty lot of a new bulk, made in that batch."""
    return ledger.create_lot(
        item(ItemKind.BULK),
        origin=batch,
        made_on=DAY,
        best_before=None,
        by=batch.opened_by,
        at=NOON,
    )


def signed(by: User) -> Confirmed:
    """The person's password, given once more."""
    return Confirmed(by.pk)


def sealed_rows(operation: Operation, table: str) -> list[dict[str, Any]]:
    """The rows of one table as the last seal of an operation has them."""
    seal = operation.seals.order_by("number").last()
    assert seal is not None
    section = json.loads(seal.record)["tables"][table]
    return [dict(zip(section["columns"], row, strict=True)) for row in section["rows"]]


def dated(lot: Lot, best_before: date | None) -> Lot:
    """The lot with another date, as somebody gave it."""
    return ledger.change_best_before(lot, best_before, by=user(), at=NOON, reason="Looked at again")


def put(lot: Lot, status: Status) -> Lot:
    """The lot in another status, as somebody put it."""
    return ledger.set_lot_status(lot, status, by=user(), at=NOON, reason="Looked at again")
