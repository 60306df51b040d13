"""The ledger: one posting, what one lot holds, and the first page of the stock list."""

import itertools
from collections.abc import Iterator
from datetime import UTC, date, datetime
from decimal import Decimal

from django.db import connection, transaction

from benchmarks.timing import Measurement, compare
from workshop.core.models import Role, User
from workshop.ledger.models import (
    Item,
    ItemKind,
    Lot,
    Operation,
    OperationKind,
    Posting,
    Side,
    Status,
    Unit,
)
from workshop.ledger.services import create_lot, on_hand, open_operation, post

AT = datetime(2026, 1, 5, 8, tzinfo=UTC)
POSTINGS_A_LOT = 30


def measure(*, lots: int = 400, times: int = 300) -> Iterator[Measurement]:
    owner = User.objects.create(username="bench", role=Role.OWNER)
    item = Item.objects.create(
        code="BENCH", name="Sunflower oil", kind=ItemKind.MATERIAL, unit=Unit.GRAM
    )
    receipt = open_operation(OperationKind.RECEIPT, by=owner, at=AT)
    filled_lots = filled(lots, item, receipt, owner)
    yield posting(receipt, filled_lots[0], owner, times=times)
    yield holding(filled_lots[1], times=times)
    yield listing(lots, times=times // 5)


@transaction.atomic
def filled(number_of_lots: int, item: Item, receipt: Operation, owner: User) -> list[Lot]:
    """A book of some size: with ten rows, nothing would show."""
    lots = [
        create_lot(
            item,
            origin=receipt,
            made_on=date(2026, 1, 5),
            best_before=date(2027, 1, 5),
            by=owner,
            at=AT,
            status=Status.RELEASED,
        )
        for _ in range(number_of_lots)
    ]
    Posting.objects.bulk_create(
        Posting(
            operation=receipt,
            lot=lot,
            side=Side.OUT,
            quantity=Decimal("12.5"),
            at=AT,
            by=owner,
            token=f"bench-{lot.pk}-{number}",
        )
        for lot in lots
        for number in range(POSTINGS_A_LOT)
    )
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    return lots


def posting(receipt: Operation, lot: Lot, owner: User, *, times: int) -> Measurement:
    """`post` in its transaction, beside one INSERT in a transaction."""
    numbers = itertools.count()
    insert = (
        "INSERT INTO ledger_posting"
        " (operation_id, lot_id, side, quantity, at, by_id, token, reason)"
        " VALUES (%s, %s, 'out', 12500, %s, %s, %s, '')"
    )

    def bare() -> None:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(
                insert, [receipt.pk, lot.pk, str(AT), owner.pk, f"bench-bare-{next(numbers)}"]
            )

    def ours() -> Posting:
        return post(receipt, lot, Side.OUT, Decimal("12.5"), by=owner, at=AT)

    return compare("post 12.5 g", ours, bare, times=times)


def holding(lot: Lot, *, times: int) -> Measurement:
    """What one lot holds, beside its SUM."""

    def bare() -> object:
        with connection.cursor() as cursor:
            cursor.execute("SELECT SUM(quantity) FROM ledger_posting WHERE lot_id = %s", [lot.pk])
            return cursor.fetchone()

    return compare("what one lot holds", lambda: on_hand(lot), bare, times=times)


def listing(lots_in_book: int, *, times: int) -> Measurement:
    """Fifty lots with what they hold as the stock list reads them, beside the same SQL."""
    lots = Lot.objects.select_related("item").available(on=date(2026, 2, 1))[:50]
    statement, values = lots.query.sql_with_params()

    def bare() -> object:
        with connection.cursor() as cursor:
            cursor.execute(statement, values)
            return cursor.fetchall()

    return compare(
        f"50 of {lots_in_book} lots on hand", lambda: list(lots.all()), bare, times=times
    )
