"""What a recall reaches: the lots, where all of each is, and who was sent how much."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import F, Max, QuerySet, Sum

from workshop.core.shown import number
from workshop.dispatch.models import Customer
from workshop.ledger.models import TRANSFORMING, Act, Kind, Lot, Operation, Posting, Side, Status
from workshop.ledger.reads import Balance, balances
from workshop.ledger.tree import descendants
from workshop.rules.recalls import accounted_percent, contacts_needed
from workshop.trace.models import Entry, Recall, RecallEntry, RecallLine

NOTHING = Decimal(0)
KIND_ORDER = [Kind.PRODUCT, Kind.BULK, Kind.MATERIAL, Kind.PACKAGING]
# Units of each lot by customer; None stands for units that left without one.
Sales = dict[int | None, dict[int, "Part"]]


@dataclass
class Part:
    """What one customer has of one lot."""

    lot: Lot
    sent: Decimal = NOTHING
    back: Decimal = NOTHING
    last_sent_on: date | None = None

    @property
    def still_out(self) -> Decimal:
        return self.sent - self.back


@dataclass
class Buyer:
    """A customer who was sent affected lots, and how far talking with them has come."""

    customer: Customer
    parts: list[Part]
    entries: list[RecallEntry] = field(default_factory=list)

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
    def told(self) -> RecallEntry | None:
        """When they first heard of it; who answers has been told."""
        reached = (one for one in self.entries if one.what in (Entry.TOLD, Entry.ANSWERED))
        return next(reached, None)

    @property
    def answer(self) -> RecallEntry | None:
        """The latest answer: it takes the place of earlier ones."""
        return next((one for one in self.entries[::-1] if one.what == Entry.ANSWERED), None)

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


@dataclass
class Reach:
    """All that a recall of one lot comes to, at this moment or when it closed."""

    lots: list[Lot]
    lines: list[RecallLine]
    buyers: list[Buyer]
    strays: list[Part]
    open_runs: list[Operation]
    entries: list[RecallEntry]

    @property
    def finished(self) -> list[RecallLine]:
        return [line for line in self.lines if line.lot.item.kind == Kind.PRODUCT]

    @property
    def to_hold(self) -> list[Lot]:
        """Lots still in the house that somebody could use or send."""
        free = (Status.RELEASED, Status.QUARANTINE)
        return [line.lot for line in self.lines if line.on_hand and Status(line.lot.status) in free]

    @property
    def in_house(self) -> list[RecallLine]:
        return [line for line in self.lines if line.on_hand > 0]

    @property
    def made(self) -> Decimal:
        return self._total("made")

    @property
    def on_hand(self) -> Decimal:
        return self._total("on_hand")

    @property
    def sent(self) -> Decimal:
        return sum((buyer.sent for buyer in self.buyers), NOTHING)

    @property
    def back(self) -> Decimal:
        return sum((buyer.back for buyer in self.buyers), NOTHING)

    @property
    def still_out(self) -> Decimal:
        return self.sent - self.back

    @property
    def missing(self) -> Decimal:
        return self._total("missing")

    @property
    def percent(self) -> Decimal | None:
        return percent_of(self.made, self.missing)

    @property
    def is_stock_recovery(self) -> bool:
        """Nothing of it ever left the house, so nothing is on the market."""
        return not self.buyers and not self.strays

    @property
    def said(self) -> str:
        """How far it reaches, in half a sentence."""
        here = f"{number(self.on_hand)} finished on hand"
        if self.is_stock_recovery:
            return f"nothing has left the house, {here}"
        units = "unit" if self.still_out == 1 else "units"
        customers = "customer" if len(self.buyers) == 1 else "customers"
        out = f"{number(self.still_out)} {units} with {len(self.buyers)} {customers}"
        return f"{out}, {here}"

    @property
    def told(self) -> int:
        return sum(buyer.told is not None for buyer in self.buyers)

    @property
    def answered(self) -> int:
        return sum(buyer.answer is not None for buyer in self.buyers)

    @property
    def sums(self) -> dict[str, Decimal]:
        names = ["made", "shelf", "with_customers", "used", "discarded", "lost", "missing"]
        return {name: self._total(name) for name in names}

    def _total(self, name: str) -> Decimal:
        return sum((getattr(line, name) for line in self.finished), NOTHING)


def percent_of(made: Decimal | None, missing: Decimal | None) -> Decimal | None:
    return accounted_percent(made - (missing or NOTHING), made) if made else None


def contacts_due(recall: Recall, reach: Reach) -> int:
    return contacts_needed(recall.level, len(reach.buyers))


def reach_of_lot(lot: Lot) -> Reach:
    """What a recall of this lot would reach now; the count of queries is fixed."""
    return _reach(descendants([lot.pk]), [])


def reach_of(recall: Recall) -> Reach:
    """What a running recall reaches now, or what a closed one had reached when it closed."""
    entries = list(recall.entries.select_related("customer", "by").order_by("pk"))
    if not recall.is_closed:
        return _reach(descendants([recall.lot_id]), entries)
    lines = list(recall.lines.select_related("lot__item", "lot__origin"))
    lots = [line.lot for line in lines]
    buyers, strays = _buyers(lots, entries, until=recall.closed_at)
    return Reach(lots, lines, buyers, strays, [], entries)


def _reach(pks: Collection[int], entries: list[RecallEntry]) -> Reach:
    rows = Lot.objects.filter(pk__in=pks).select_related("item", "origin")
    lots = sorted(rows, key=lambda lot: (KIND_ORDER.index(Kind(lot.item.kind)), lot.pk))
    buyers, strays = _buyers(lots, entries)
    with_customers: dict[int, Decimal] = defaultdict(Decimal)
    for part in (part for buyer in buyers for part in buyer.parts):
        with_customers[part.lot.pk] += part.still_out
    held = balances(pks)
    lines = [line_of(lot, held[lot.pk], with_customers[lot.pk]) for lot in lots]
    return Reach(lots, lines, buyers, strays, _open_runs(pks), entries)


def line_of(
    lot: Lot, held: Balance, with_customers: Decimal, found: Decimal | None = None
) -> RecallLine:
    """Where all of a lot is, and what of it is nowhere."""
    line = RecallLine(
        lot=lot,
        made=held.came_in,
        on_hand=held.on_hand,
        found=found,
        with_customers=with_customers,
        used=held.used,
        discarded=held.discarded,
        lost=-held.counted,
    )
    line.missing = missing_from(line)
    return line


def missing_from(line: RecallLine) -> Decimal:
    known = line.shelf + line.with_customers + line.used + line.discarded + line.lost
    missing: Decimal = line.made - known
    return missing


def _open_runs(pks: Collection[int]) -> list[Operation]:
    """Batches and packing runs under way that took an affected lot: more lots will come."""
    taken = Posting.objects.standing().filter(lot__in=pks, side=Side.IN)
    runs = Operation.objects.filter(kind__in=TRANSFORMING, closed_at=None)
    return list(runs.filter(pk__in=taken.values("operation")).order_by("pk"))


def _buyers(
    lots: Iterable[Lot], entries: Iterable[RecallEntry], *, until: datetime | None = None
) -> tuple[list[Buyer], list[Part]]:
    by_pk = {lot.pk: lot for lot in lots}
    sales = _sales(by_pk, until)
    strays = list(sales.pop(None, {}).values())
    heard: dict[int | None, list[RecallEntry]] = defaultdict(list)
    for entry in entries:
        heard[entry.customer_id].append(entry)
    customers = Customer.objects.filter(pk__in=[pk for pk in sales if pk]).order_by("name")
    buyers = [
        Buyer(customer, list(sales[customer.pk].values()), heard[customer.pk])
        for customer in customers
    ]
    return buyers, strays


def _sales(lots: Mapping[int, Lot], until: datetime | None) -> Sales:
    """Two sums over the ledger: what was sent to whom, and what of it came back."""
    moved = Posting.objects.filter(lot__in=list(lots)).order_by()
    if until is not None:
        moved = moved.filter(at__lte=until)
    sales: Sales = defaultdict(dict)
    for row in _summed(moved, Act.DISPATCH, "operation__dispatch"):
        part = sales[row["customer"]].setdefault(row["lot"], Part(lots[row["lot"]]))
        part.sent, part.last_sent_on = -row["total"], row["last"]
    for row in _summed(moved, Act.RETURN, "operation__returned__dispatch"):
        part = sales[row["customer"]].setdefault(row["lot"], Part(lots[row["lot"]]))
        part.back = row["total"]
    parts = {
        customer: {pk: part for pk, part in of_lots.items() if part.sent or part.back}
        for customer, of_lots in sales.items()
    }
    return {customer: of_lots for customer, of_lots in parts.items() if of_lots}


def _summed(moved: QuerySet[Posting], act: Act, dispatch: str) -> Iterable[dict[str, Any]]:
    of_act = moved.filter(operation__kind=act)
    rows = of_act.values("lot", customer=F(f"{dispatch}__customer"))
    return rows.annotate(total=Sum("quantity"), last=Max(f"{dispatch}__sent_on"))
