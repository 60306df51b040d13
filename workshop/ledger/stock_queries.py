"""What the stock pages look at."""

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import connection
from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from workshop.ledger.models import (
    BRINGING_IN,
    TRANSFORMING,
    DateChange,
    Lot,
    OperationKind,
    Placing,
    Posting,
    Side,
    Status,
    StatusChange,
)


@dataclass(frozen=True)
class Balance:
    """Where every gram or piece of one lot came from and went to; it adds up to `on_hand`."""

    came_in: Decimal
    used: Decimal
    sent: Decimal
    returned: Decimal
    discarded: Decimal
    shed: Decimal
    counted: Decimal
    on_hand: Decimal

    @property
    def unaccounted(self) -> Decimal:
        gained = self.came_in + self.returned + self.counted
        return gained - self.used - self.sent - self.discarded - self.shed - self.on_hand


def balance(lot: Lot) -> Balance:
    """One query over the lot's postings, reversals taken off where they belong."""
    return balances([lot.pk])[lot.pk]


def book_at(lot: Lot, moment: datetime) -> Decimal:
    """What the book says today of what there was of a lot at a moment."""
    return books_at({lot.pk: moment})[lot.pk]


def books_at(moments: Mapping[int, datetime]) -> dict[int, Decimal]:
    """The same of many lots, each at a moment of its own; one query.

    What was taken back since counts as never written: it is dated as what it takes back.
    """
    found = dict.fromkeys(moments, Decimal(0))
    rows = Posting.objects.filter(lot__in=list(moments)).order_by()
    dated = rows.annotate(meant=Coalesce("corrects__at", "at"))
    for lot, at, quantity in dated.values_list("lot", "meant", "quantity"):
        if at <= moments[lot]:
            found[lot] += quantity
    return found


def balances(lot_pks: Collection[int]) -> dict[int, Balance]:
    """The balance of many lots, still one query."""
    moved: dict[int, dict[str, Decimal]] = {pk: defaultdict(Decimal) for pk in lot_pks}
    rows = Posting.objects.filter(lot__in=list(lot_pks)).order_by()
    for row in rows.values("lot", "operation__kind", "side").annotate(total=Sum("quantity")):
        moved[row["lot"]][f"{row['operation__kind']} {row['side']}"] += row["total"]
    return {pk: balance_of(changes) for pk, changes in moved.items()}


def balance_of(moved: Mapping[str, Decimal]) -> Balance:
    """A balance from the change of a lot by kind of operation and side, "batch in" and so on."""
    on_hand = sum(moved.values(), Decimal(0))
    return Balance(
        came_in=sum((moved[f"{act} out"] for act in (*BRINGING_IN, *TRANSFORMING)), Decimal(0)),
        used=-sum((moved[f"{act} in"] for act in TRANSFORMING), Decimal(0)),
        sent=-moved[f"{OperationKind.DISPATCH} in"],
        returned=moved[f"{OperationKind.RETURN} out"],
        discarded=-moved[f"{OperationKind.DISCARD} in"],
        shed=-moved[f"{OperationKind.SHED} in"],
        counted=moved[f"{OperationKind.COUNT} out"] + moved[f"{OperationKind.COUNT} in"],
        on_hand=on_hand,
    )


def whole_ledger() -> dict[int, int]:
    """What every lot with a posting holds, in thousandths of its unit: one pass over an index.

    The numbers stay as the database has them: there may be hundreds of thousands.
    """
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT lot_id, CAST(SUM(quantity) AS bigint) FROM ledger_posting GROUP BY lot_id"
        )
        return dict(cursor.fetchall())


def moved_by_lot() -> dict[int, int]:
    """What went out of operations and into them of every lot, in thousandths of its unit."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT lot_id, CAST(SUM(quantity) AS bigint) FROM ledger_posting"
            " WHERE side IN (%s, %s) GROUP BY lot_id",
            [Side.IN, Side.OUT],
        )
        return dict(cursor.fetchall())


def placings_of(lot: Lot) -> list[Placing]:
    """Where a lot was, from the first; the last of these is where it is."""
    return list(lot.placings.select_related("place", "by"))


def places_of(lots: Collection[int]) -> dict[int, Placing]:
    """Where each of many lots is, as far as somebody said; one query."""
    rows = Placing.objects.filter(lot__in=list(lots)).select_related("place").order_by("pk")
    return {row.lot_id: row for row in rows}


def with_place(lots: QuerySet[Any]) -> QuerySet[Any]:
    """Annotate `place_name`, the name of the place where each lot was put last, if any."""
    last = Placing.objects.filter(lot=OuterRef("pk")).order_by("-pk")
    found: QuerySet[Any] = lots.annotate(place_name=Subquery(last.values("place__name")[:1]))
    return found


def history(lot: Lot) -> list[Posting]:
    """Every posting of a lot in the order it was written, ready to be shown."""
    return list(
        lot.postings.select_related("operation", "by", "corrects", "reversal").order_by("-pk")[:500]
    )


def with_last_reason(lots: QuerySet[Lot]) -> QuerySet[Lot]:
    """Annotate `last_reason`, the words with which each lot got the status that it has."""
    return lots.annotate(last_reason=_last_change("reason"))


def stopped_by_date() -> Q:
    """Lots on hold since the moment that their date moved: they were released with another."""
    moved = DateChange.objects.filter(lot=OuterRef("pk"), at=_last_change("at", "lot"))
    return Q(Exists(moved), status=Status.ON_HOLD)


def _last_change(field: str, lot: str = "pk") -> Subquery:
    changes = StatusChange.objects.filter(lot=OuterRef(lot)).order_by("-pk")
    return Subquery(changes.values(field)[:1])


def date_that_stopped(lot: Lot) -> DateChange | None:
    """The change of date that put a released lot on hold, while it is."""
    last = lot.status_changes.last()
    if lot.status != Status.ON_HOLD or last is None:
        return None
    return lot.date_changes.filter(at=last.at).last()
