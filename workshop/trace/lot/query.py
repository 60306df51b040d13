"""One lot traced back to its sources and forward to who has it, in four queries."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from datetime import date
from decimal import Decimal
from fractions import Fraction

from django.db.models import OuterRef, Subquery, Sum
from django.db.models.functions import Coalesce
from django.utils import timezone

from workshop.core.fields import QuantityField
from workshop.core.models import USUAL_DAYS_ON_THE_WAY, Workshop
from workshop.ledger.lot_tree import Link, links_both_ways
from workshop.ledger.models import BRINGING_IN, Lot, OperationKind, Side, StatusChange, Unit
from workshop.ledger.stock_queries import Balance
from workshop.ledger.strained_out import strained_out
from workshop.packing.models import Retained
from workshop.trace.lot.movements import (
    Movement,
    People,
    balances,
    dispatches,
    moved,
    on_the_way,
    people,
    totals,
)
from workshop.trace.lot.result import NOTHING, Descendant, Sending, Source, Trace, Who
from workshop.trace.lot.share_flow import Family, Flow, depths, shown


def trace(lot: Lot, *, on: date | None = None) -> Trace:
    """Trace a lot both ways. Four queries, whatever the depth and the width.

    What is still on its way to customers is told for the day `on`, today unless given.
    """
    behind, ahead = links_both_ways(lot.pk)
    lots, days = _lots({lot.pk, *_ends(behind), *_ends(ahead)})
    units = {pk: found.item.unit for pk, found in lots.items()}
    kept = {lot.pk, *(link.product_id for link in ahead)}
    operations = {link.operation_id for link in (*behind, *ahead)}
    rows = moved(kept, operations, on=on or timezone.localdate(), days=days)
    strained = strained_out(operations)
    family = Family([*behind, *ahead], totals(rows, strained), units, lots, strained)
    back, forward = family.back(lot.pk), family.forward(lot.pk)
    hands = people(rows)
    sources = _sources(behind, lots, back, depths(behind, lot.pk, forward=False), hands)
    held = balances(kept, rows)
    sendings = _sendings(lots, rows, _inside_a_unit(lot, family, forward), hands)
    travelling = _travelling(sendings)
    steps = depths(ahead, lot.pk, forward=True)
    return Trace(
        lot=lots[lot.pk],
        balance=held[lot.pk],
        bought=[source for source in sources if not source.is_made_here],
        made_here=[source for source in sources if source.is_made_here],
        products=_products(ahead, lots, forward, held, steps, hands, travelling),
        sendings=sendings,
        back=back,
        forward=forward,
        who=_who(lots[lot.pk], hands),
        on_its_way=travelling[lot.pk],
        retained=_kept_back(lots[lot.pk]),
    )


def _ends(links: Iterable[Link]) -> set[int]:
    return {pk for link in links for pk in (link.source_id, link.product_id)}


def _lots(pks: Collection[int]) -> tuple[dict[int, Lot], int]:
    """The lots by key with what is kept back of each, and how long a dispatch may take.

    Not in_bulk, which asks once for every 999 lots on SQLite.
    """
    kept = Retained.objects.filter(lot=OuterRef("pk")).order_by().values("lot")
    rows = (
        Lot.objects.filter(pk__in=pks)
        .select_related(
            "item",
            "origin__opened_by",
            "receipt_line__receipt__supplier",
            "receipt_line__certificate__document",
            "opening",
        )
        .annotate(
            kept_back=Coalesce(
                Subquery(kept.annotate(total=Sum("units")).values("total")),
                NOTHING,
                output_field=QuantityField(),
            ),
            days=Subquery(Workshop.objects.values("days_on_the_way")[:1]),
        )
    )
    lots = {lot.pk: lot for lot in rows}
    days = {getattr(lot, "days", None) for lot in lots.values()}
    return lots, days.pop() or USUAL_DAYS_ON_THE_WAY


def _kept_back(lot: Lot) -> Decimal:
    units: Decimal = getattr(lot, "kept_back", NOTHING)
    return units


def _who(lot: Lot, hands: People) -> Who:
    if lot.origin.kind in BRINGING_IN:
        return Who(received=[str(lot.origin.opened_by)])
    weighed = hands.get((lot.origin_id, Side.IN), [])
    made = hands.get((lot.origin_id, Side.OUT), [])
    if lot.origin.kind == OperationKind.PACKING:
        return Who(packed=list(dict.fromkeys([*weighed, *made])))
    if lot.origin.kind == OperationKind.UNPACKING:
        return Who(unpacked=list(dict.fromkeys([*weighed, *made])))
    return Who(weighed=weighed, poured=made)


def _travelling(sendings: Iterable[Sending]) -> dict[int, Decimal]:
    units: dict[int, Decimal] = defaultdict(Decimal)
    for sending in sendings:
        units[sending.lot.pk] += sending.on_its_way
    return units


def _sources(
    links: Iterable[Link],
    lots: dict[int, Lot],
    flow: Flow,
    depth: dict[int, int],
    hands: People,
) -> list[Source]:
    taken: dict[int, dict[int, Decimal]] = defaultdict(dict)
    for link in links:
        taken[link.source_id][link.taken_posting_id] = link.taken
    sources = [
        Source(
            lots[pk],
            sum(amounts.values(), NOTHING),
            shown(flow.of.get(pk, Fraction())),
            depth.get(pk, 0),
            _who(lots[pk], hands),
            is_strained_out=flow.is_strained_out(pk),
        )
        for pk, amounts in taken.items()
    ]
    return sorted(sources, key=lambda source: (source.lot.item.unit != Unit.GRAM, -source.inside))


def _products(
    links: Iterable[Link],
    lots: dict[int, Lot],
    flow: Flow,
    held: dict[int, Balance],
    depth: dict[int, int],
    hands: People,
    travelling: Mapping[int, Decimal],
) -> list[Descendant]:
    products = [
        Descendant(
            lots[pk],
            shown(flow.of.get(pk, Fraction())),
            held[pk],
            depth.get(pk, 0),
            _who(lots[pk], hands),
            travelling.get(pk, NOTHING),
            _kept_back(lots[pk]),
            is_strained_out=flow.is_strained_out(pk),
        )
        for pk in {link.product_id for link in links}
    ]
    return sorted(products, key=lambda made: (made.lot.made_on, made.lot.pk))


def _inside_a_unit(lot: Lot, family: Family, flow: Flow) -> dict[int, Fraction]:
    """How much of the lot asked about is in one unit of each lot that may have been sent."""
    inside = {pk: amount / family.made(pk) for pk, amount in flow.of.items() if family.made(pk)}
    return {**inside, lot.pk: Fraction(1)}


def _sendings(
    lots: dict[int, Lot],
    rows: Iterable[Movement],
    inside_a_unit: dict[int, Fraction],
    hands: People,
) -> list[Sending]:
    """Who was sent any of these lots; what came back stands beside the dispatch it was sent by."""
    counted = [row for row in rows if row.unit == Unit.EACH]
    by_key, sent, back = dispatches(counted)
    travelling = on_the_way(counted)
    sendings = [
        Sending(
            by_key[key[0]],
            lots[key[1]],
            -change,
            back[key],
            shown(inside_a_unit.get(key[1], Fraction()) * Fraction(-change)),
            key[0] in travelling,
            hands.get((by_key[key[0]].operation.pk, Side.IN), []),
            is_strained_out=not inside_a_unit.get(key[1], Fraction(1)),
        )
        for key, change in sent.items()
        if change
    ]
    return sorted(sendings, key=lambda one: (one.dispatch.sent_on, one.dispatch.pk, one.lot.pk))


def last_change(lot: Lot) -> StatusChange | None:
    return lot.status_changes.select_related("by").order_by("-pk").first()
