"""Other lots made of what went into a lot, the closest first."""

from collections.abc import Collection
from dataclasses import dataclass, field

from django.db.models import Count, Q

from workshop.goods_in.models import ReceiptLine
from workshop.ledger.lot_tree import links_back
from workshop.ledger.models import TRANSFORMING, Lot, Posting, Side
from workshop.trace.lot.ancestry import lots_behind
from workshop.trace.lot.result import Trace

MOST = 40  # operations looked at: those that took most of the same lots themselves


@dataclass(frozen=True)
class Sibling:
    """Another lot, and the lots behind both."""

    lot: Lot
    shared: list[Lot]


@dataclass(frozen=True)
class Siblings:
    """Of `behind` lots that went into the one asked about, what each other lot shares."""

    rows: list[Sibling] = field(default_factory=list)
    behind: int = 0
    # Operations outside the trace that took one of those lots; at most MOST are looked into.
    operations: int = 0
    same_supplier_lot: list[ReceiptLine] = field(default_factory=list)


def siblings_of(trace: Trace) -> Siblings:
    """The same number of queries, however many lots there are behind."""
    behind = {source.lot.pk: source.lot for source in (*trace.bought, *trace.made_here)}
    family = {trace.lot.pk, *behind, *(made.lot.pk for made in trace.products)}
    operations, total = _takers(behind, family)
    made = Lot.objects.filter(origin__in=operations).exclude(pk__in=family)
    lots = list(made.select_related("item", "origin"))
    shared = lots_behind(links_back([lot.pk for lot in lots]))
    rows = [
        Sibling(lot, [behind[pk] for pk in sorted(shared.get(lot.pk, frozenset()) & set(behind))])
        for lot in lots
    ]
    rows.sort(key=lambda row: (-len(row.shared), -row.lot.pk))
    return Siblings([row for row in rows if row.shared], len(behind), total, _same_supply(trace))


def _takers(behind: Collection[int], family: Collection[int]) -> tuple[list[int], int]:
    """The operations that took most of these lots, those made here counting before bought ones."""
    taken = Posting.objects.effective().filter(
        lot__in=behind, side=Side.IN, operation__kind__in=TRANSFORMING
    )
    own = Lot.objects.filter(pk__in=family).values("origin")
    made_here = Count("lot", distinct=True, filter=Q(lot__origin__kind__in=TRANSFORMING))
    rows = (
        taken.exclude(operation__in=own)
        .order_by()
        .values("operation")
        .annotate(made_here=made_here, shared=Count("lot", distinct=True))
        .order_by("-made_here", "-shared", "-operation")
    )
    operations = list(rows.values_list("operation", flat=True))
    return operations[:MOST], len(operations)


def _same_supply(trace: Trace) -> list[ReceiptLine]:
    """Our other lots of the supplier's lot that the asked one came from."""
    line = trace.arrival
    if line is None:
        return []
    same = ReceiptLine.objects.effective().filter(
        receipt__supplier=line.receipt.supplier_id,
        supplier_lot__iexact=line.supplier_lot,
        lot__item=trace.lot.item_id,
    )
    return list(same.exclude(pk=line.pk).with_lots().order_by("pk")[:MOST])
