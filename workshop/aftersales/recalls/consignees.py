"""Who was sent affected lots, how much of it they have, and what is still on its way to them."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db.models import F, Max, Q, QuerySet, Sum

from workshop.aftersales.models import RecallEntry, RecallEntryKind
from workshop.core.formatting import number
from workshop.core.models import MOST_DAYS_ON_THE_WAY
from workshop.dispatch.models import Customer, Dispatch, Whereabouts
from workshop.dispatch.queries import days_on_the_way
from workshop.ledger.models import Lot, OperationKind, Posting

NOTHING = Decimal(0)
TELLS_OF_BUYERS = (RecallEntryKind.TOLD, RecallEntryKind.ANSWERED, RecallEntryKind.LISTED)
# Units of each lot by customer; None stands for units that left without one.
Sales = dict[int | None, dict[int, "CustomerLot"]]


@dataclass
class CustomerLot:
    """What one customer has of one lot."""

    lot: Lot
    sent: Decimal = NOTHING
    back: Decimal = NOTHING
    last_sent_on: date | None = None

    @property
    def still_out(self) -> Decimal:
        return self.sent - self.back


@dataclass
class Parcel:
    """A dispatch with affected lots that is still on its way: it can be stopped."""

    dispatch: Dispatch
    parts: list[CustomerLot] = field(default_factory=list)

    @property
    def customer(self) -> Customer:
        return self.dispatch.customer

    @property
    def units(self) -> Decimal:
        return sum((part.sent for part in self.parts), NOTHING)


@dataclass
class Consignee:
    """A customer who was sent affected lots, and how far talking with them has come."""

    customer: Customer
    parts: list[CustomerLot]
    entries: list[RecallEntry] = field(default_factory=list)
    parcels: list[Parcel] = field(default_factory=list)

    @property
    def sent(self) -> Decimal:
        return sum((part.sent for part in self.parts), NOTHING)

    @property
    def back(self) -> Decimal:
        return sum((part.back for part in self.parts), NOTHING)

    @property
    def still_out(self) -> Decimal:
        return self.sent - self.back

    @property
    def on_its_way(self) -> Decimal:
        return sum((parcel.units for parcel in self.parcels), NOTHING)

    def on_its_way_of(self, lot: Lot) -> Decimal:
        parts = (part for parcel in self.parcels for part in parcel.parts)
        return sum((part.sent for part in parts if part.lot == lot), NOTHING)

    @property
    def is_many(self) -> bool:
        """Whether the name stands for many buyers, of whom some may be unknown."""
        return self.customer.stands_for_many

    @property
    def buyers_units(self) -> Decimal:
        """Units whose buyers were notified or found on a list, by the latest word of it."""
        said = (one.buyers_units for one in self.entries[::-1] if one.buyers_units)
        return min(next(said, NOTHING), self.still_out)

    @property
    def unreachable(self) -> Decimal:
        """Units still out of whose holders nothing is known by which to reach them."""
        if self.is_many:
            return self.still_out - self.buyers_units
        return NOTHING if self.can_be_reached else self.still_out

    @property
    def notified(self) -> Decimal:
        """Units still out whose holders have heard of it."""
        if self.told is None:
            return NOTHING
        return self.buyers_units if self.is_many else self.still_out

    @property
    def is_told(self) -> bool:
        """Who stands for many is told when the buyers of all units are."""
        return self.told is not None and self.notified == self.still_out

    @property
    def told(self) -> RecallEntry | None:
        """When they first heard of it; who answers has been told."""
        reached = (
            one
            for one in self.entries
            if one.what in (RecallEntryKind.TOLD, RecallEntryKind.ANSWERED)
        )
        return next(reached, None)

    @property
    def answer(self) -> RecallEntry | None:
        """The latest answer: it takes the place of earlier ones."""
        return next(
            (one for one in self.entries[::-1] if one.what == RecallEntryKind.ANSWERED), None
        )

    @property
    def answer_said(self) -> str:
        """What they said of their units, each with its number."""
        if self.answer is None:
            return ""
        said = {
            "destroyed": self.answer.destroyed,
            "sold on": self.answer.sold_on,
            "to come back": self.answer.will_return,
        }
        return ", ".join(f"{number(units)} {what}" for what, units in said.items() if units)

    @property
    def destroyed(self) -> Decimal:
        return self.answer.destroyed if self.answer else NOTHING

    @property
    def sold_on(self) -> Decimal:
        return self.answer.sold_on if self.answer else NOTHING

    @property
    def unexplained(self) -> Decimal:
        """Units still out of which they have said neither destroyed nor sold on."""
        return max(self.still_out - self.destroyed - self.sold_on, NOTHING)

    @property
    def can_be_reached(self) -> bool:
        customer = self.customer
        return bool(customer.telephone or customer.email or customer.address)


def buyers_of(
    lots: Iterable[Lot],
    entries: Iterable[RecallEntry],
    *,
    on: date | None = None,
    until: datetime | None = None,
) -> tuple[list[Consignee], list[CustomerLot]]:
    """The customers by name, and what went to none.

    With the day `on`, those to whom something is still on its way come first; with `until` all is
    as it was then, when nothing can be stopped any more.
    """
    by_pk = {lot.pk: lot for lot in lots}
    sales = _sales(by_pk, until)
    strays = list(sales.pop(None, {}).values())
    heard: dict[int | None, list[RecallEntry]] = defaultdict(list)
    for entry in entries:
        heard[entry.customer_id].append(entry)
    customers = Customer.objects.filter(pk__in=[pk for pk in sales if pk]).order_by("name")
    parcels = _parcels(by_pk, on) if on else {}
    buyers = [
        Consignee(
            customer,
            list(sales[customer.pk].values()),
            heard[customer.pk],
            parcels.get(customer.pk, []),
        )
        for customer in customers
    ]
    return sorted(buyers, key=lambda buyer: not buyer.parcels), strays


def _parcels(lots: Mapping[int, Lot], on: date) -> dict[int, list[Parcel]]:
    """What is on its way to each customer, the earliest sent first; nothing of it came back yet."""
    recent = Dispatch.objects.filter(sent_on__gt=on - timedelta(days=MOST_DAYS_ON_THE_WAY))
    known = recent.with_whereabouts(on=on, days=days_on_the_way())
    travelling = known.filter(Q(whereabouts=Whereabouts.ON_ITS_WAY))
    sent = Posting.objects.filter(
        lot__in=list(lots),
        operation__kind=OperationKind.DISPATCH,
        operation__in=travelling.values("operation"),
    ).select_related("operation__dispatch__customer", "operation__dispatch__operation")
    units: dict[Dispatch, dict[int, Decimal]] = defaultdict(lambda: defaultdict(Decimal))
    for posting in sent.order_by("operation", "lot"):
        units[posting.operation.dispatch][posting.lot_id] -= posting.quantity
    by_customer: dict[int, list[Parcel]] = defaultdict(list)
    for dispatch, of_lots in units.items():
        parts = [CustomerLot(lots[pk], sent=count) for pk, count in of_lots.items() if count]
        if parts:
            by_customer[dispatch.customer_id].append(Parcel(dispatch, parts))
    return by_customer


def _sales(lots: Mapping[int, Lot], until: datetime | None) -> Sales:
    """Two sums over the ledger: what was sent to whom, and what of it came back."""
    moved = Posting.objects.filter(lot__in=list(lots)).order_by()
    if until is not None:
        moved = moved.filter(at__lte=until)
    sales: Sales = defaultdict(dict)
    for row in _summed(moved, OperationKind.DISPATCH, "operation__dispatch"):
        part = sales[row["customer"]].setdefault(row["lot"], CustomerLot(lots[row["lot"]]))
        part.sent, part.last_sent_on = -row["total"], row["last"]
    for row in _summed(moved, OperationKind.RETURN, "operation__returned__dispatch"):
        part = sales[row["customer"]].setdefault(row["lot"], CustomerLot(lots[row["lot"]]))
        part.back = row["total"]
    parts = {
        customer: {pk: part for pk, part in of_lots.items() if part.sent or part.back}
        for customer, of_lots in sales.items()
    }
    return {customer: of_lots for customer, of_lots in parts.items() if of_lots}


def _summed(
    moved: QuerySet[Posting], act: OperationKind, dispatch: str
) -> Iterable[dict[str, Any]]:
    of_act = moved.filter(operation__kind=act)
    rows = of_act.values("lot", customer=F(f"{dispatch}__customer"))
    return rows.annotate(total=Sum("quantity"), last=Max(f"{dispatch}__sent_on"))
