"""What was moved of the lots of a trace and in its operations: one query, added up in Python."""

from collections import defaultdict
from collections.abc import Collection, Container, Iterable
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from django.db.models import Case, F, OuterRef, Q, Subquery, When

from workshop.core.models import User
from workshop.dispatch.models import Customer, Dispatch, Whereabouts
from workshop.ledger.models import ItemKind, Operation, OperationKind, Posting, Side, Unit
from workshop.ledger.stock_queries import Balance, balance_of
from workshop.trace.lot.share_flow import Totals

# Units by dispatch and lot.
Moved = dict[tuple[int, int], Decimal]


# Who took part in an operation, by its key and the side: into it or out of it.
People = dict[tuple[int, str], list[str]]


class Movement(NamedTuple):
    """One posting, with the dispatch it belongs to, or the one that it came back from."""

    lot: int
    side: str
    quantity: Decimal
    operation: int
    first_name: str
    last_name: str
    username: str
    act: str
    unit: str
    kind: str
    came_back_from: int | None
    whereabouts: str | None
    dispatch: int | None
    reference: str
    sent_on: date
    customer_reference: str
    customer: int
    name: str
    contact: str
    telephone: str
    email: str
    address: str


NAME = ("first_name", "last_name", "username")
COLUMNS = (
    "lot",
    "side",
    "quantity",
    "operation",
    "by__first_name",
    "by__last_name",
    "by__username",
    "operation__kind",
    "lot__item__unit",
    "lot__item__kind",
    "operation__returned__dispatch",
    "whereabouts",
    "operation__dispatch",
    "operation__reference",
    "operation__dispatch__sent_on",
    "operation__dispatch__customer_reference",
    *(
        f"operation__dispatch__customer__{name}"
        for name in ("pk", "name", "contact", "telephone", "email", "address")
    ),
)


def moved(
    lots: Collection[int], operations: Collection[int], *, on: date, days: int
) -> list[Movement]:
    """Every posting of these lots, and every other one of these operations.

    After `days` without word a dispatch is taken as arrived on the day `on`.
    """
    rows = Posting.objects.filter(Q(lot__in=lots) | Q(operation__in=operations)).order_by()
    known = rows.annotate(whereabouts=_whereabouts(on, days))
    return [Movement._make(row) for row in known.values_list(*COLUMNS)]


def _whereabouts(on: date, days: int) -> Case:
    """Where a dispatch is; the long arrived are not asked about, which are nearly all."""
    asked = Dispatch.objects.filter(operation=OuterRef("operation"))
    found = asked.with_whereabouts(on=on, days=days).values(where=F("whereabouts"))
    return Case(
        When(
            operation__dispatch__sent_on__gt=on - timedelta(days=days),
            operation__dispatch__sent_on__lte=on,
            then=Subquery(found),
        )
    )


def on_the_way(rows: Iterable[Movement]) -> set[int]:
    """The dispatches that are still on their way."""
    return {
        row.dispatch
        for row in rows
        if row.dispatch is not None and row.whereabouts == Whereabouts.ON_ITS_WAY
    }


def people(rows: Iterable[Movement]) -> People:
    """Who wrote the postings of each operation; who only took one back is left out."""
    found: People = defaultdict(list)
    names: dict[str, str] = {}
    for row in rows:
        if (row.quantity > 0) != (row.side == Side.OUT):
            continue  # a reversal
        if row.username not in names:
            names[row.username] = str(User(**{name: getattr(row, name) for name in NAME}))
        if names[row.username] not in found[row.operation, row.side]:
            found[row.operation, row.side].append(names[row.username])
    return found


def balances(lots: Iterable[int], rows: Iterable[Movement]) -> dict[int, Balance]:
    changes: dict[int, dict[str, Decimal]] = {lot: defaultdict(Decimal) for lot in lots}
    for row in rows:
        if row.lot in changes:
            changes[row.lot][f"{row.act} {row.side}"] += row.quantity
    return {lot: balance_of(change) for lot, change in changes.items()}


def totals(rows: Iterable[Movement], strained: Container[tuple[int, int]] = ()) -> Totals:
    """What each operation moved in all; a posting and its reversal cancel out.

    What was strained out of it again does not count as weighed in.
    """
    weighed_in_g: dict[int, Decimal] = defaultdict(Decimal)
    put_out: dict[tuple[int, str], Decimal] = defaultdict(Decimal)
    for row in rows:
        if row.side == Side.OUT:
            put_out[row.operation, row.unit] += row.quantity
        elif (row.operation, row.lot) in strained:
            continue
        elif row.unit == Unit.GRAM and row.kind != ItemKind.PACKAGING:
            weighed_in_g[row.operation] -= row.quantity
    return Totals(
        {operation: Fraction(total) for operation, total in weighed_in_g.items()},
        {key: Fraction(total) for key, total in put_out.items()},
    )


def dispatches(rows: Iterable[Movement]) -> tuple[dict[int, Dispatch], Moved, Moved]:
    """The dispatches by key; the change by what each sent, and by what came back from it."""
    found: dict[int, Dispatch] = {}
    sent: Moved = defaultdict(Decimal)
    back: Moved = defaultdict(Decimal)
    for row in rows:
        if row.dispatch is not None:
            found.setdefault(row.dispatch, _dispatch(row))
            sent[row.dispatch, row.lot] += row.quantity
        elif row.came_back_from is not None:
            back[row.came_back_from, row.lot] += row.quantity
    return found, sent, back


def _dispatch(row: Movement) -> Dispatch:
    """The rows of two tables as the one query brought them."""
    customer = Customer(
        pk=row.customer,
        name=row.name,
        contact=row.contact,
        telephone=row.telephone,
        email=row.email,
        address=row.address,
    )
    operation = Operation(pk=row.operation, kind=OperationKind.DISPATCH, reference=row.reference)
    return Dispatch(
        pk=row.dispatch,
        operation=operation,
        customer=customer,
        customer_reference=row.customer_reference,
        sent_on=row.sent_on,
    )
