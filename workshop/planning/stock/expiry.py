"""What will expire unused at the present pace: each lot against its date, first expired first."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from django.db.models import Q, Sum

from workshop.ledger.models import Lot, OperationKind, Posting, Status
from workshop.planning.stock.outlooks import outlooks

PACE_WEEKS = 13
USING = (OperationKind.BATCH, OperationKind.PACKING, OperationKind.DISPATCH)


@dataclass(frozen=True)
class Leftover:
    """A lot of which something will be left when its date comes."""

    lot: Lot
    days_left: int
    used: Decimal
    left_over: Decimal
    per_week: Decimal

    @property
    def used_share(self) -> float:
        return float(self.used / self.lot.on_hand) if self.lot.on_hand else 0.0


def leftovers(*, today: date) -> list[Leftover]:
    """Lots with a date of which something will be left over, those with the earliest date first.

    Materials and bulk go at the pace of the last quarter; products as they are expected to.
    """
    lots = list(
        Lot.objects.exclude(status=Status.REJECTED)
        .filter(best_before__gte=today)
        .with_on_hand()
        .filter(Q(on_hand__gt=0))
        .select_related("item")
        .order_by("best_before", "made_on", "pk")
    )
    pace = _pace(today)
    by_item: dict[int, list[Lot]] = defaultdict(list)
    for lot in lots:
        by_item[lot.item_id].append(lot)
    found = []
    for item, row in by_item.items():
        found += _of_item(row, pace.get(item, Fraction()), today)
    return sorted(found, key=lambda one: (one.lot.best_before, one.lot.pk))


def _of_item(lots: list[Lot], per_day: Fraction, today: date) -> list[Leftover]:
    """First expired first out: each lot has what the pace leaves of the days until its date."""
    found = []
    used_before = Fraction()
    for lot in lots:
        assert lot.best_before is not None  # noqa: S101 -- they were asked for by their date
        days = (lot.best_before - today).days + 1
        can = max(per_day * days - used_before, Fraction())
        used = min(can, Fraction(lot.on_hand))
        used_before += used
        over = Fraction(lot.on_hand) - used
        if over >= 1:
            whole = Decimal(int(over))
            week = Decimal(round(per_day * 7))
            found.append(Leftover(lot, days, lot.on_hand - whole, whole, week))
    return found


def _pace(today: date) -> dict[int, Fraction]:
    """What goes of each item in a day; a product as it is expected to."""
    first = today - timedelta(weeks=PACE_WEEKS)
    rows = (
        Posting.objects.filter(
            operation__kind__in=USING,
            operation__opened_at__date__gte=first,
            quantity__lt=0,
        )
        .order_by()
        .values_list("lot__item")
        .annotate(change=Sum("quantity"))
    )
    pace = {item: -Fraction(change) / (7 * PACE_WEEKS) for item, change in rows}
    pace |= {one.product.item_id: one.demand.mean / 7 for one in outlooks(on=today)}
    return pace
