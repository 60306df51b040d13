"""What every lot of the book cost, from what was paid for the lots that came in.

The value of a lot is what was paid for it; what dries off takes no value with it. So quantities
are reckoned here as they were before the lot dried: so many grams of a lot of which a tenth has
dried off stand for so many more.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any, NamedTuple

from django.db.models import Q, QuerySet, Sum
from django.utils import timezone

from workshop.costs.currencies import DIGITS
from workshop.costs.models import Invoice, InvoiceLine, PricedPer, Rates, SpreadBy, WorkTime
from workshop.goods_in.models import ReceiptLine
from workshop.ledger.lot_tree import Link, links_back
from workshop.ledger.models import (
    TRANSFORMING,
    Operation,
    OperationKind,
    Posting,
    Shed,
    ShedKind,
    Side,
    Unit,
)
from workshop.rules.money.amounts import net_price, overhead_absorbed, shared_out
from workshop.rules.money.lot_costs import Making, UnitCost, lot_costs

# What leaves a lot in store as it always does: what is left bears its cost.
USUAL = (ShedKind.DRIED, ShedKind.EVAPORATED, ShedKind.TRIMMED)
PER_KILOGRAM = 1000
MOST_NAMED = 500


class Moved(NamedTuple):
    """So much of a lot moved in an operation, plus where the stock grew; as before it dried."""

    operation: int
    lot: int
    kind: str
    side: str
    quantity: Fraction


@dataclass(frozen=True)
class Values:
    """The cost of a unit of every lot asked for, and how the lots made here came to it."""

    costs: Mapping[int, UnitCost]
    makings: Mapping[int, Making]

    def of(self, lot: int) -> UnitCost:
        return self.costs.get(lot, UnitCost(Fraction(), is_whole=False))


def values_of(
    lots: Collection[int] | None = None, *, links: Sequence[Link] | None = None
) -> Values:
    """The values of some lots and of all that went into them, or of the whole book.

    The number of queries does not depend on how many there are. `links` are those back from the
    lots, where they were read already.
    """
    operations, wanted = None, None
    if lots is not None:
        links = links_back(lots) if links is None else links
        operations = {link.operation_id for link in links}
        wanted = {*lots, *(link.source_id for link in links)}
    makings = _makings(operations)
    return Values(lot_costs(_bought(wanted), makings.values()), makings)


def values_in(operation: Operation) -> Values:
    """The values of what one operation took and made."""
    postings = Posting.objects.filter(operation=operation).order_by()
    lots = set(postings.values_list("lot", flat=True))
    values = values_of(lots)
    if operation.pk in values.makings:
        return values
    # A batch that made nothing yet is behind no lot.
    return Values(values.costs, {**values.makings, **_makings({operation.pk})})


def moved(where: Q) -> Iterator[Moved]:
    """What moved of each lot in each operation, grouped by the database, drying seen to."""
    rows = Posting.objects.filter(where).order_by()
    sums = rows.values_list("operation", "lot", "operation__kind", "side").annotate(
        total=Sum("quantity")
    )
    for operation, lot, kind, side, total in sums:
        yield Moved(operation, lot, kind, side, Fraction(total))
    yield from (one for _, one in dried(where))


def dried(where: Q) -> list[tuple[datetime, Moved]]:
    """What must be added to movements of lots that dried, so that no value dries with them.

    For each of their postings: how much more it stands for; the drying itself stands for nothing.
    """
    usual = Shed.objects.filter(operation__kind=OperationKind.SHED, kind__in=USUAL).order_by()
    lots = usual.values("lot")
    asked = Posting.objects.filter(where, lot__in=lots).order_by()
    wanted, moving = set(), set()
    for pk, lot in asked.values_list("pk", "lot"):
        wanted.add(pk)
        moving.add(lot)
    if not moving:
        return []
    # Few lots are named; of many, all that ever dried are walked.
    named = moving if len(moving) <= MOST_NAMED else lots
    drying = usual.filter(lot__in=named).values_list("operation", flat=True)
    rows = _in_order(named).select_related("operation")
    walk = _Drying(set(drying))
    found = []
    for row in rows:
        more = walk.more(row)
        if more and row.pk in wanted:
            kind, side = row.operation.kind, row.side
            found.append((row.at, Moved(row.operation_id, row.lot_id, kind, side, more)))
    return found


def stands_for(lots: Collection[int]) -> dict[int, Fraction]:
    """By lot that dried: for how much of what it was a gram of it stands today."""
    usual = Shed.objects.filter(
        operation__kind=OperationKind.SHED, kind__in=USUAL, lot__in=lots
    ).order_by()
    drying = set(usual.values_list("operation", flat=True))
    if not drying:
        return {}
    walk = _Drying(drying)
    for row in _in_order(usual.values("lot")):
        walk.more(row)
    return dict(walk.stands_for)


def _in_order(lots: Any) -> QuerySet[Posting]:
    return Posting.objects.filter(lot__in=lots).order_by("at", "pk")


class _Drying:
    """Walks the postings of lots that dried, in the order of time."""

    def __init__(self, drying: Collection[int]) -> None:
        self.drying = drying
        self.there: dict[int, Fraction] = defaultdict(Fraction)
        self.stands_for: dict[int, Fraction] = defaultdict(lambda: Fraction(1))

    def more(self, row: Posting) -> Fraction:
        """How much more than its grams a posting stands for."""
        quantity = Fraction(row.quantity)
        there = self.there[row.lot_id]
        self.there[row.lot_id] = there + quantity
        if row.operation_id not in self.drying:
            return quantity * (self.stands_for[row.lot_id] - 1)
        if there + quantity <= 0:
            return Fraction()
        self.stands_for[row.lot_id] *= there / (there + quantity)
        return -quantity


# ---- What was made here --------------------------------------------------------------------------


def _makings(operations: Collection[int] | None) -> dict[int, Making]:
    chosen = Q() if operations is None else Q(operation__in=operations)
    taken: dict[int, dict[int, Fraction]] = defaultdict(lambda: defaultdict(Fraction))
    made: dict[int, dict[int, Fraction]] = defaultdict(lambda: defaultdict(Fraction))
    for one in moved(chosen & Q(operation__kind__in=TRANSFORMING)):
        if one.side == Side.IN:
            taken[one.operation][one.lot] -= one.quantity
        else:
            made[one.operation][one.lot] += one.quantity
    keys = {*taken, *made}
    of_these = Q() if operations is None else Q(pk__in=operations)
    closed = Operation.objects.filter(of_these, closed_at__isnull=False, kind__in=TRANSFORMING)
    over = set(closed.values_list("pk", flat=True))
    spilled = _spilled(chosen)
    rates = rates_known()
    work = _work_costs(chosen, rates)
    return {
        key: Making(
            taken=dict(taken[key]),
            made={lot: quantity for lot, quantity in made[key].items() if quantity > 0},
            added=work.get(key, Fraction()),
            is_added_known=key in work or not rates,
            spilled=spilled.get(key, Fraction()),
            is_over=key in over,
        )
        for key in keys
    }


def _spilled(chosen: Q) -> dict[int, Fraction]:
    """Grams spilled in batches: a loss beyond the usual."""
    rows = Shed.objects.filter(chosen, kind=ShedKind.SPILLED, operation__kind=OperationKind.BATCH)
    return {
        operation: Fraction(sum(by_kind.values()), 1000)
        for operation, by_kind in rows.by_operation().items()
    }


def _work_costs(chosen: Q, rates: Sequence[Rates]) -> dict[int, Fraction]:
    """Labour and the overhead that goes with it, by operation, at the rates of its day."""
    times = WorkTime.objects.filter(chosen).latest_of_each().select_related("operation")
    found = {}
    for time in times:
        cost = work_cost(time.minutes, rates, timezone.localdate(time.operation.opened_at))
        if cost is not None:
            found[time.operation_id] = cost
    return found


def rates_known() -> list[Rates]:
    return list(Rates.objects.order_by("from_on", "pk"))


def work_cost(minutes: int, rates: Sequence[Rates], day: date) -> Fraction | None:
    """What so many minutes of a day cost with their overhead; None where there is no rate."""
    # Work done before there was a rate costs what it cost first.
    held = [rate for rate in rates if rate.from_on <= day] or rates[:1]
    if not held:
        return None
    labour = Fraction(held[-1].labour_per_hour) * minutes / 60
    return labour + overhead_absorbed(labour, held[-1].overhead_percent)


# ---- What was bought -----------------------------------------------------------------------------


def _bought(lots: Collection[int] | None) -> dict[int, Fraction | None]:
    """The unit cost of each lot that came in, None where nobody entered what was paid."""
    lines = ReceiptLine.objects.effective()
    if lots is not None:
        lines = lines.filter(lot__in=lots)
    came = {line.pk: line for line in lines.select_related("lot")}
    paid = _paid({line.receipt_id for line in came.values()})
    quantities = _received([line.lot_id for line in came.values()])
    costs: dict[int, Fraction | None] = {}
    for line in came.values():
        quantity = quantities.get(line.lot_id)
        total = paid.get(line.pk, None if line.cost is None else Fraction(line.cost))
        costs[line.lot_id] = total / quantity if total is not None and quantity else None
    return costs


def _received(lots: Collection[int]) -> dict[int, Fraction]:
    rows = Posting.objects.filter(lot__in=lots, operation__kind=OperationKind.RECEIPT).order_by()
    sums = rows.values_list("lot").annotate(total=Sum("quantity"))
    return {lot: Fraction(total) for lot, total in sums}


def _paid(receipts: Collection[int]) -> dict[int, Fraction]:
    """By receipt line: its price and its share of freight and duty, in the workshop's currency."""
    invoices = Invoice.objects.filter(receipt__in=receipts).latest_of_each()
    lines = InvoiceLine.objects.filter(invoice__in=invoices).select_related(
        "invoice", "line__lot__item"
    )
    by_invoice: dict[Invoice, list[InvoiceLine]] = defaultdict(list)
    for line in lines:
        by_invoice[line.invoice].append(line)
    quantities = _received([line.line.lot_id for line in lines])
    found: dict[int, Fraction] = {}
    for invoice, of_it in by_invoice.items():
        nets = [net_of(line, quantities.get(line.line.lot_id, Fraction())) for line in of_it]
        weights = [quantities.get(line.line.lot_id, Fraction()) for line in of_it]
        extra = charges_of(invoice, nets, weights)
        rate = Fraction(invoice.exchange_rate)
        for line, net, share in zip(of_it, nets, extra, strict=True):
            found[line.line_id] = (net + Fraction(share)) * rate
    return found


def net_of(line: InvoiceLine, quantity: Fraction) -> Fraction:
    """What the line comes to without tax; a price a unit is of a kilogram or a piece."""
    units = quantity / PER_KILOGRAM if line.line.lot.item.unit == Unit.GRAM else quantity
    return net_price(
        line.price,
        quantity=units,
        is_each=line.per == PricedPer.UNIT,
        discount_percent=line.discount_percent,
    )


def charges_of(
    invoice: Invoice, nets: Iterable[Fraction], weights: Iterable[Fraction]
) -> list[Decimal]:
    """Freight and duty of an invoice, a part for each line, that add up to the cent."""
    by = list(weights if invoice.spread_by == SpreadBy.WEIGHT else nets)
    total = invoice.freight + invoice.duty
    if not sum(by):
        by = [Fraction(1)] * len(by)
    return shared_out(total, by, DIGITS[invoice.currency])
