"""What happened to the lots of a trace, one entry an operation: what exports are made from."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal

from django.db.models import Min

from workshop.core.models import User
from workshop.ledger.models import TRANSFORMING, Lot, Operation, OperationKind, Posting, Seal, Side
from workshop.trace.lot.result import Trace

Amounts = dict[int, Decimal]


@dataclass(frozen=True)
class Partner:
    """Who a delivery came from, or went to."""

    name: str
    address: str
    their_reference: str


@dataclass(frozen=True)
class TraceEvent:
    """One operation as far as the trace goes; amounts by lot, each in its item's unit."""

    operation: Operation
    at: datetime
    by: User
    lots: dict[int, Lot]
    taken: Amounts
    put_out: Amounts
    corrected_at: datetime | None = None
    reason: str = ""
    # What it said when it was first closed, where that was changed afterwards.
    said_before: "TraceEvent | None" = None
    partner: Partner | None = None
    sent_in: str = ""  # for a return, the dispatch that it came back from

    @property
    def act(self) -> OperationKind:
        return OperationKind(self.operation.kind)

    @property
    def is_transforming(self) -> bool:
        return self.act in TRANSFORMING

    @property
    def is_empty(self) -> bool:
        return not self.taken and not self.put_out

    @property
    def moved(self) -> set[int]:
        """Every lot it moves, or once said that it moved."""
        before = self.said_before.moved if self.said_before else set()
        return {*self.taken, *self.put_out} | before


@dataclass
class _Written:
    """The postings of one operation that belong into the trace."""

    operation: Operation
    postings: list[Posting] = field(default_factory=list)


def events_of(trace: Trace) -> list[TraceEvent]:
    """Every operation that moved a lot of the trace, the earliest first, in six queries.

    Of a batch or packing run everything is told; of a receipt, dispatch, return, count or
    discard only the lots of the trace.
    """
    lots = {trace.lot.pk, *(made.lot.pk for made in trace.products)}
    sources = {source.lot.pk: source.lot.origin_id for source in (*trace.bought, *trace.made_here)}
    moved_by = Posting.objects.filter(lot__in=lots).order_by().values_list("operation", flat=True)
    written = _written({*moved_by.distinct(), *sources.values()}, lots | set(sources))
    first = Seal.objects.filter(operation__in=written).order_by().values("operation")
    sealed_at = dict(first.annotate(first=Min("at")).values_list("operation", "first"))
    found = [_happening(one, sealed_at.get(pk)) for pk, one in written.items()]
    # What took a lot and gave it back before it closed never happened to it.
    told = [one for one in found if one.moved & (lots | set(sources))]
    return sorted(told, key=lambda one: (one.at, one.operation.pk))


def _written(operations: Collection[int], lots: Collection[int]) -> dict[int, _Written]:
    """Operations, lots and people are read once each and shared by their postings.

    A lot may have thousands of postings; joined to each, the same rows would be built again and
    again. (`prefetch_related` would do it, but takes no more than a thousand of them on SQLite.)
    """
    acts = Operation.objects.select_related(
        "receipt__supplier",
        "dispatch__customer",
        "returned__dispatch__customer",
        "returned__dispatch__operation",
    ).in_bulk(list(operations))
    rows = Posting.objects.filter(operation__in=operations).select_related("reversal")
    postings = [
        posting
        for posting in rows.order_by("pk")
        if acts[posting.operation_id].kind in TRANSFORMING or posting.lot_id in lots
    ]
    told = Lot.objects.select_related("item__product", "receipt_line__certificate")
    known = told.in_bulk({posting.lot_id for posting in postings})
    people = User.objects.in_bulk({posting.by_id for posting in postings})
    written: dict[int, _Written] = {}
    for posting in postings:
        posting.operation = acts[posting.operation_id]
        posting.lot = known[posting.lot_id]
        posting.by = people[posting.by_id]
        one = written.setdefault(posting.operation_id, _Written(posting.operation))
        one.postings.append(posting)
    return written


def _happening(written: _Written, sealed_at: datetime | None) -> TraceEvent:
    originals = [posting for posting in written.postings if posting.corrects_id is None]
    now = [posting for posting in originals if _reversal(posting) is None]
    before = [posting for posting in originals if sealed_at and _stood_at(posting, sealed_at)]
    changed = bool(before) and [one.pk for one in before] != [one.pk for one in now]
    last = written.postings[-1]
    reasons = [posting.reason for posting in written.postings if posting.corrects_id]
    return _told(
        written.operation,
        now or originals,
        now,
        corrected_at=last.at if changed else None,
        reason=reasons[-1] if changed and reasons else "",
        said_before=_told(written.operation, before, before) if changed else None,
    )


def _stood_at(posting: Posting, sealed_at: datetime) -> bool:
    reversal = _reversal(posting)
    return posting.at <= sealed_at and (reversal is None or reversal.at > sealed_at)


def _reversal(posting: Posting) -> Posting | None:
    found: Posting | None = getattr(posting, "reversal", None)
    return found


def _told(
    operation: Operation,
    dated_by: Collection[Posting],
    postings: Collection[Posting],
    *,
    corrected_at: datetime | None = None,
    reason: str = "",
    said_before: TraceEvent | None = None,
) -> TraceEvent:
    latest = max(dated_by, key=lambda posting: (posting.at, posting.pk))
    return TraceEvent(
        operation=operation,
        at=latest.at,
        by=latest.by,
        lots={posting.lot_id: posting.lot for posting in dated_by},
        taken=_amounts(postings, Side.IN),
        put_out=_amounts(postings, Side.OUT),
        corrected_at=corrected_at,
        reason=reason,
        said_before=said_before,
        partner=next(_partners(operation), None),
        sent_in=_sent_in(operation),
    )


def _amounts(postings: Iterable[Posting], side: Side) -> Amounts:
    amounts: Amounts = defaultdict(Decimal)
    for posting in postings:
        if posting.side == side:
            amounts[posting.lot_id] += posting.moved
    return dict(amounts)


def _partners(operation: Operation) -> Iterator[Partner]:
    if receipt := getattr(operation, "receipt", None):
        supplier = receipt.supplier
        yield Partner(supplier.name, supplier.address, receipt.delivery_note)
    dispatch = getattr(operation, "dispatch", None)
    if returned := getattr(operation, "returned", None):
        dispatch = returned.dispatch
    if dispatch:
        customer = dispatch.customer
        yield Partner(customer.name, customer.address, dispatch.customer_reference)


def _sent_in(operation: Operation) -> str:
    returned = getattr(operation, "returned", None)
    return str(returned.dispatch) if returned else ""
