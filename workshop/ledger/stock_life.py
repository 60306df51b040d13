"""Stock against expiry: how long the lots that expire soonest last at the present pace."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from django.db.models import F, Q, Sum
from django.utils.safestring import SafeString

from workshop.core.formatting import with_unit
from workshop.core.web.pictograms import expiry_bar
from workshop.ledger.models import TRANSFORMING, Lot, OperationKind, Posting, Side, Status
from workshop.rules.dates.stock_life import InStock, StockLife, stock_lives
from workshop.rules.quantities.units import round_to

PACE_OVER = timedelta(days=180)
RULE_DAYS = 730  # the rule of the column: two years
USING = (*TRANSFORMING, OperationKind.DISPATCH)


@dataclass(frozen=True)
class ExpiringLot:
    """One lot with its own day, and how long it lasts."""

    lot: Lot
    life: StockLife
    days_left: int

    @property
    def is_past(self) -> bool:
        return self.days_left < 0

    @property
    def left_over(self) -> Decimal:
        """As the book keeps it, to the thousandth."""
        return round_to(self.life.left_over, Decimal("0.001"))

    @property
    def words(self) -> str:
        if self.is_past:
            return f"expired {_days(-self.days_left)} ago"
        if self.lot.status != Status.RELEASED:
            return "not released"
        if self.life.used_up_days is None:
            return "not used lately"
        if self.left_over > 0:
            return f"{with_unit(self.left_over, self.lot.item.unit)} will be left over"
        return f"lasts {_days(int(self.life.used_up_days))}"

    @property
    def bar(self) -> SafeString:
        lasts = 0 if self.is_past else float(self.life.would_last_days or 0)
        end = max(self.days_left, 0)
        return expiry_bar(lasts / RULE_DAYS, end / RULE_DAYS, self.words)


def _days(number: int) -> str:
    if number == 0:
        return "less than a day"
    if number >= 60:
        return f"{number // 30} months"
    return f"{number} day{'' if number == 1 else 's'}"


def soonest_to_expire(today: date, number: int) -> list[ExpiringLot]:
    """The lots in stock with the nearest dates; the number of queries is fixed.

    A lot is begun when those of its item that expire before it are used up.
    """
    rows = Lot.objects.in_stock().exclude(status=Status.REJECTED).filter(Q(on_hand__gt=0))
    dated = rows.filter(best_before__isnull=False).order_by("best_before", "pk")
    soonest = list(dated.values_list("pk", "item")[:number])
    items = {item for _, item in soonest}
    by_item: dict[int, list[Lot]] = defaultdict(list)
    of_these = rows.filter(item__in=items).select_related("item")
    for lot in of_these.order_by(F("best_before").asc(nulls_last=True), "pk"):
        by_item[lot.item_id].append(lot)
    paces = _paces(items, today)
    found = {
        row.lot.pk: row
        for item, lots in by_item.items()
        for row in _with_lives(lots, paces.get(item, Fraction(0)), today)
    }
    return [found[pk] for pk, _ in soonest]


def _with_lives(lots: list[Lot], a_day: Fraction, today: date) -> list[ExpiringLot]:
    """Only what is released is used, so the others hold up nothing."""
    usable = [lot for lot in lots if lot.status == Status.RELEASED]
    stock = [InStock(Fraction(lot.on_hand), _days_left(lot, today)) for lot in usable]
    lives = dict(zip((lot.pk for lot in usable), stock_lives(stock, a_day), strict=True))
    untouched = StockLife(None, Fraction(0))
    return [
        ExpiringLot(lot, lives.get(lot.pk, untouched), left)
        for lot in lots
        if (left := _days_left(lot, today)) is not None
    ]


def _days_left(lot: Lot, today: date) -> int | None:
    return (lot.best_before - today).days if lot.best_before else None


def _paces(items: Collection[int], today: date) -> dict[int, Fraction]:
    """What is used of each item in a day, over the last half year."""
    used = Posting.objects.filter(
        lot__item__in=items,
        side=Side.IN,
        operation__kind__in=USING,
        at__date__gt=today - PACE_OVER,
    ).order_by()
    sums = used.values("lot__item").annotate(total=Sum("quantity"))
    return {
        row["lot__item"]: max(-Fraction(row["total"]), Fraction(0)) / PACE_OVER.days for row in sums
    }
