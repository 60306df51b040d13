"""What was moved of the lots of a trace and in its operations: one query, added up in Python."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from django.db.models import Q

from workshop.dispatch.models import Customer, Dispatch
from workshop.ledger.models import Act, Kind, Operation, Posting, Side, Unit
from workshop.ledger.reads import Balance, balance_of
from workshop.trace.flow import Totals

# Units by dispatch and lot.
Moved = dict[tuple[int, int], Decimal]


class Movement(NamedTuple):
    """One posting, with the dispatch it belongs to, or the one that it came back from."""

    lot: int
    side: str
    quantity: Decimal
    operation: int
    act: str
    unit: str
    kind: str
    came_back_from: int | None
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


COLUMNS = (
    "lot",
    "side",
    "quantity",
    "operation",
    "operation__kind",
    "lot__item__unit",
    "lot__item__kind",
    "operation__returned__dispatch",
    "operation__dispatch",
    "operation__reference",
    "operation__dispatch__sent_on",
    "operation__dispatch__customer_reference",
    *(
        f"operation__dispatch__customer__{name}"
        for name in ("pk", "name", "contact", "telephone", "email", "address")
    ),
)


def moved(lots: Collection[int], operations: Collection[int]) -> list[Movement]:
    """Every posting of these lots, and every other one of these operations."""
    rows = Posting.objects.filter(Q(lot__in=lots) | Q(operation__in=operations)).order_by()
    return [Movement._make(row) for row in rows.values_list(*COLUMNS)]


def balances(lots: Iterable[int], rows: Iterable[Movement]) -> dict[int, Balance]:
    changes: dict[int, dict[str, Decimal]] = {lot: defaultdict(Decimal) for lot in lots}
    for row in rows:
        if row.lot in changes:
            changes[row.lot][f"{row.act} {row.side}"] += row.quantity
    return {lot: balance_of(change) for lot, change in changes.items()}


def totals(rows: Iterable[Movement]) -> Totals:
    """What each operation moved in all; a posting and its reversal cancel out."""
    weighed_in_g: dict[int, Decimal] = defaultdict(Decimal)
    put_out: dict[tuple[int, str], Decimal] = defaultdict(Decimal)
    for row in rows:
        if row.side == Side.OUT:
            put_out[row.operation, row.unit] += row.quantity
        elif row.unit == Unit.GRAM and row.kind != Kind.PACKAGING:
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
    operation = Operation(pk=row.operation, kind=Act.DISPATCH, reference=row.reference)
    return Dispatch(
        pk=row.dispatch,
        operation=operation,
        customer=customer,
        customer_reference=row.customer_reference,
        sent_on=row.sent_on,
    )
