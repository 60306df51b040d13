"""Lots that a week can plan with: what is there and good, less what is promised to a batch."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Q

from workshop.curing.release_readiness import cures_of
from workshop.kettle.models import Batch, BatchLine, BatchState
from workshop.ledger.models import ItemKind, Lot, Status
from workshop.planning.models import PlannedRun, Reservation
from workshop.rules.quantities.first_expired import LotOnOffer, draw_lots

STORED = (ItemKind.MATERIAL, ItemKind.PACKAGING, ItemKind.BULK)
WAITING = (BatchState.PLANNED, BatchState.UNDER_WAY)


@dataclass(frozen=True)
class Free:
    """What of a lot is promised to nobody, and from which day on it can be used."""

    lot: Lot
    amount: Decimal
    from_day: date


@dataclass(frozen=True)
class StockLeft:
    """What is promised to nobody, and what of each item is promised beyond all that is there."""

    free: list[Free]
    owed: dict[int, Decimal]


def stock_left(*, on: date) -> StockLeft:
    """Released lots with something left, and lots that are likely to be released soon."""
    lots = list(
        Lot.objects.available(on=on).filter(item__kind__in=STORED).select_related("item__profile")
    )
    left, owed = _less_promised(lots)
    free = [Free(lot, left[lot.pk], on) for lot in lots if left[lot.pk] > 0]
    return StockLeft(free + _in_quarantine(on), owed)


def _in_quarantine(on: date) -> list[Free]:
    """What waits for its release: from tomorrow, soap from the end of its cure."""
    lots = list(
        Lot.objects.filter(item__kind__in=STORED, status=Status.QUARANTINE)
        .not_past(on)
        .with_on_hand()
        .filter(Q(on_hand__gt=0))
        .select_related("item__profile")
        .order_by("pk")
    )
    if not lots:
        return []
    ready = {cure.lot.pk: cure.ready for cure in cures_of(lots)}
    tomorrow = date.fromordinal(on.toordinal() + 1)
    return [Free(lot, lot.on_hand, max(ready.get(lot.pk) or tomorrow, tomorrow)) for lot in lots]


def _less_promised(lots: Iterable[Lot]) -> tuple[dict[int, Decimal], dict[int, Decimal]]:
    """What is left of each lot once planned batches and runs have all they need, and what is owed.

    A batch draws on the lots that were reserved for it, then on what expires first.
    """
    owed: dict[int, Decimal] = defaultdict(Decimal)
    left: dict[int, Decimal] = {}
    by_item: dict[int, list[Lot]] = defaultdict(list)
    for lot in lots:
        left[lot.pk] = lot.on_hand
        by_item[lot.item_id].append(lot)
    reserved = _reserved()
    for batch, item, need in [*batch_needs(), *_run_needs()]:
        rest = need
        for key, amount in reserved.get((batch, item), []):
            take = min(rest, amount, left.get(key, Decimal(0)))
            if take > 0:
                left[key] -= take
                rest -= take
        offers = [LotOnOffer(lot.pk, left[lot.pk], lot.best_before) for lot in by_item[item]]
        drawn, short = draw_lots(rest, offers)
        owed[item] += short
        for key, amount in drawn:
            left[key] -= amount
    return left, owed


def batch_needs() -> list[tuple[int, int, Decimal]]:
    """What each planned or begun batch still needs of each item: batch, item, grams."""
    batches = Batch.objects.filter(state__in=WAITING)
    lines = BatchLine.objects.filter(batch__in=batches).with_taken().order_by("batch", "order")
    return [
        (line.batch_id, line.item_id, line.to_go_g)
        for line in lines
        if line.is_planned and line.to_go_g > 0
    ]


def _run_needs() -> list[tuple[int, int, Decimal]]:
    """What each planned packing run will take of bulk and containers; no batch has the key 0."""
    found: list[tuple[int, int, Decimal]] = []
    for run in waiting_runs():
        product = run.item.product
        found.append((0, product.bulk_id, run.units * product.fill_g))
        found.append((0, product.container_id, Decimal(run.units)))
    return found


def waiting_runs() -> list[PlannedRun]:
    """Packing runs that a week planned and nobody began since, by their day."""
    return list(PlannedRun.objects.waiting().select_related("item__product", "week"))


def _reserved() -> dict[tuple[int, int], list[tuple[int, Decimal]]]:
    found: dict[tuple[int, int], list[tuple[int, Decimal]]] = defaultdict(list)
    rows = Reservation.objects.standing().order_by("pk")
    for row in rows.select_related("planned", "lot"):
        found[row.planned.batch_id, row.lot.item_id].append((row.lot_id, row.quantity))
    return found
