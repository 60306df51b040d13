"""What every lot of the book cost, from what was paid for the lots that came in.

The value of a lot is what was paid for it; what dries off takes no value with it. So quantities
are reckoned here as they were before the lot dried: so many grams of a lot of which a tenth has
dried off stand for so many more.
"""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction
from typing import Any, NamedTuple

from django.db.models import Q, QuerySet, Sum
from django.utils import timezone

from workshop.costs.models import Rates, WorkTime
from workshop.costs.values.paid import bought
from workshop.ledger.lot_tree import Link, links_back
from workshop.ledger.models import (
    TRANSFORMING,
    Operation,
    OperationKind,
    Posting,
    Shed,
    ShedKind,
    Side,
)
from workshop.rules.money.amounts import overhead_absorbed
from workshop.rules.money.lot_costs import Making, UnitCost, lot_costs
from workshop.rules.quantities.units import Exact

# What leaves a lot in store as it always does: what is left bears its cost.
USUAL = (ShedKind.DRIED, ShedKind.EVAPORATED, ShedKind.TRIMMED)
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
    lots: Collection[int],
    *,
    links: Sequence[Link] | None = None,
    rates: Sequence[Rates] | None = None,
) -> Values:
    """The values of some lots and of all that went into them.

    The number of queries does not depend on how many there are. `links` are those back from the
    lots, `rates` all that are known, where they were read already.
    """
    links = links_back(lots) if links is None else links
    makings = _makings({link.operation_id for link in links}, rates)
    paid = bought({*lots, *(link.source_id for link in links)})
    costs = {lot: None if one is None else one.each for lot, one in paid.items()}
    return Values(lot_costs(costs, makings.values()), makings)


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
    rows = _in_order(named).values_list(
        "pk", "at", "operation", "operation__kind", "side", "lot", "quantity"
    )
    walk = _Drying(set(drying))
    found = []
    for pk, at, operation, kind, side, lot, quantity in rows.iterator():
        more = walk.more(operation, lot, quantity)
        if more and pk in wanted:
            found.append((at, Moved(operation, lot, kind, side, more)))
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
    for row in _in_order(usual.values("lot")).values_list("operation", "lot", "quantity"):
        walk.more(*row)
    return dict(walk.stands_for)


def _in_order(lots: Any) -> QuerySet[Posting]:
    return Posting.objects.filter(lot__in=lots).order_by("at", "pk")


class _Drying:
    """Walks the postings of lots that dried, in the order of time."""

    def __init__(self, drying: Collection[int]) -> None:
        self.drying = drying
        self.there: dict[int, Fraction] = defaultdict(Fraction)
        self.stands_for: dict[int, Fraction] = defaultdict(lambda: Fraction(1))

    def more(self, operation: int, lot: int, grams: Exact) -> Fraction:
        """How much more than its grams a posting stands for."""
        quantity = Fraction(grams)
        there = self.there[lot]
        self.there[lot] = there + quantity
        if operation not in self.drying:
            return quantity * (self.stands_for[lot] - 1)
        if there + quantity <= 0:
            return Fraction()
        self.stands_for[lot] *= there / (there + quantity)
        return -quantity


# ---- What was made here --------------------------------------------------------------------------


def _makings(
    operations: Collection[int], rates: Sequence[Rates] | None = None
) -> dict[int, Making]:
    chosen = Q(operation__in=operations)
    taken: dict[int, dict[int, Fraction]] = defaultdict(lambda: defaultdict(Fraction))
    made: dict[int, dict[int, Fraction]] = defaultdict(lambda: defaultdict(Fraction))
    for one in moved(chosen & Q(operation__kind__in=TRANSFORMING)):
        if one.side == Side.IN:
            taken[one.operation][one.lot] -= one.quantity
        else:
            made[one.operation][one.lot] += one.quantity
    keys = {*taken, *made}
    closed = Operation.objects.filter(pk__in=operations, closed_at__isnull=False)
    over = set(closed.filter(kind__in=TRANSFORMING).values_list("pk", flat=True))
    spills = spilled(chosen)
    rates = rates_known() if rates is None else rates
    work = _work_costs(chosen, rates)
    return {
        key: Making(
            taken=dict(taken[key]),
            made={lot: quantity for lot, quantity in made[key].items() if quantity > 0},
            added=work.get(key, Fraction()),
            is_added_known=key in work or not rates,
            spilled=spills.get(key, Fraction()),
            is_over=key in over,
        )
        for key in keys
    }


def spilled(chosen: Q) -> dict[int, Fraction]:
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
    return cost_of_minute(held[-1]) * minutes if held else None


def cost_of_minute(rate: Rates) -> Fraction:
    labour = Fraction(rate.labour_per_hour) / 60
    return labour + overhead_absorbed(labour, rate.overhead_percent)
