"""What moved in a period, grouped by the database: by item, or by each operation of one item.

A movement belongs to the day that it is about. As the book stands today, a posting that was taken
back later counts on the day of what it takes back, a record mended later on the day it was first
closed, and a delivery or dispatch on its own day, however late it was entered. As the book stood
at the end of a day, each posting counts when it was written.
"""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import reduce
from operator import or_
from typing import Any

from django.db.models import OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce, Least
from django.utils import timezone

from workshop.dispatch.models import Dispatch
from workshop.goods_in.bought_lot_organic_status import organic_lots
from workshop.goods_in.models import Receipt
from workshop.ledger.models import Amendment, Lot, OperationKind, Posting, Seal, Side
from workshop.materials.models import LABEL_SCHEME
from workshop.rules.organic.mass_balance import MassBalance

Key = tuple[Any, ...]
# The figure of a balance that a kind of operation and a side belong to, and which way it counts.
FIGURES: dict[tuple[str, str], tuple[str, int]] = {
    (OperationKind.OPENING, Side.OUT): ("taken_over", 1),
    (OperationKind.RECEIPT, Side.OUT): ("received", 1),
    (OperationKind.BATCH, Side.OUT): ("made", 1),
    (OperationKind.PACKING, Side.OUT): ("made", 1),
    (OperationKind.UNPACKING, Side.OUT): ("made", 1),
    (OperationKind.RETURN, Side.OUT): ("returned", 1),
    (OperationKind.BATCH, Side.IN): ("used", -1),
    (OperationKind.PACKING, Side.IN): ("used", -1),
    (OperationKind.UNPACKING, Side.IN): ("used", -1),
    (OperationKind.DISPATCH, Side.IN): ("sent", -1),
    (OperationKind.DISCARD, Side.IN): ("written_off", -1),
    (OperationKind.SHED, Side.IN): ("shed", -1),
    (OperationKind.COUNT, Side.IN): ("counted", 1),
    (OperationKind.COUNT, Side.OUT): ("counted", 1),
}


@dataclass(frozen=True)
class Period:
    """From the first to the last day, in the workshop's own time."""

    first: date
    last: date

    @property
    def begins(self) -> datetime:
        return _midnight(self.first)

    @property
    def ends(self) -> datetime:
        """The first moment after the last day."""
        return _midnight(self.last + timedelta(days=1))


def _midnight(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time()))


@dataclass
class Moved:
    """What postings add up to before a period and within it, in thousandths."""

    before: int = 0
    within: int = 0

    def add(self, before: int, within: int) -> None:
        self.before += before
        self.within += within


@dataclass
class Sums:
    """Sums by key (such as an item), kind of operation and side."""

    moved: dict[Key, Moved] = field(default_factory=lambda: defaultdict(Moved))

    def balances(self) -> dict[Key, MassBalance]:
        """The balance of each key without kind and side."""
        figures: dict[Key, dict[str, int]] = defaultdict(lambda: defaultdict(int))
        for (*key, kind, side), moved in self.moved.items():
            name, sign = FIGURES[kind, side]
            figures[tuple(key)]["opening"] += moved.before
            figures[tuple(key)][name] += sign * moved.within
        return {key: MassBalance(**found) for key, found in figures.items()}


def sums(
    period: Period,
    by: Collection[str],
    *,
    items: Collection[int] | None = None,
    is_organic: bool | None = None,
    as_known_today: bool = True,
    scheme: str = LABEL_SCHEME,
) -> Sums:
    """Add up all postings until the end of the period, by these fields, kind and side.

    `items` are keys of items, None for all; with `is_organic`, only lots bought as organic under a
    scheme, or only others. One grouped pass, and two over the few postings of another day.
    """
    rows = _postings(items, is_organic=is_organic, scheme=scheme)
    group = [*by, "operation__kind", "side"]
    found = Sums()
    at = (Q(at__lt=period.begins), Q(at__gte=period.begins, at__lt=period.ends))
    for key, before, within in _grouped(rows.filter(at__lt=period.ends), group, *at):
        found.moved[key].add(before, within)
    if as_known_today:
        for elsewhere, about in _of_other_days(rows, period):
            for key, before, within in _grouped(elsewhere, group, *at):
                found.moved[key].add(-before, -within)
            for key, before, within in _grouped(elsewhere, group, *about(period)):
                found.moved[key].add(before, within)
    return found


def _postings(
    items: Collection[int] | None, *, is_organic: bool | None, scheme: str = LABEL_SCHEME
) -> QuerySet[Posting]:
    rows: QuerySet[Posting] = Posting.objects.order_by()
    if items is not None:
        # By a join: a planner that is handed a question within the question counts badly.
        rows = rows.filter(lot__item__in=list(items))
    if is_organic is not None:
        organic = organic_lots(Lot.objects.order_by(), scheme=scheme).values("pk")
        rows = rows.filter(lot__in=organic) if is_organic else rows.exclude(lot__in=organic)
    return rows


def _grouped(
    rows: QuerySet[Any], group: Collection[str], before: Q, within: Q
) -> Iterator[tuple[Key, int, int]]:
    none = Decimal(0)
    added = rows.values_list(*group).annotate(
        before_g=Sum("quantity", filter=before, default=none),
        within_g=Sum("quantity", filter=within, default=none),
    )
    for *key, before_g, within_g in added:
        yield tuple(key), thousandths(before_g), thousandths(within_g)


def thousandths(quantity: Decimal) -> int:
    return int(quantity.scaleb(3))


DATED = (OperationKind.RECEIPT, OperationKind.DISPATCH)  # have a day of their own
About = Callable[[Period], tuple[Q, Q]]


def _changed_since() -> QuerySet[Any, Any]:
    """The keys of reversals, and of what stands in a record that was opened again: few of all."""
    undoing = Posting.objects.order_by().filter(corrects__isnull=False).values("pk")
    opened = Amendment.objects.order_by().values("operation")
    amended = Posting.objects.order_by().filter(operation__in=opened).values("pk")
    return undoing.union(amended)


FEW = 2000


def _named(keys: QuerySet[Any, Any]) -> Any:
    """The keys themselves where they are few: then no database looks through the whole ledger."""
    found = [row["pk"] for row in keys[: FEW + 1]]
    return found if len(found) <= FEW else keys


def _of_other_days(
    rows: QuerySet[Posting], period: Period
) -> tuple[tuple[QuerySet[Any], About], tuple[QuerySet[Any], About]]:
    """The few postings that are about another day than that on which they were written."""
    changed = _named(_changed_since())
    return _mended(rows, changed), _entered_late(rows, period, changed)


def _mended(rows: QuerySet[Posting], changed: Any) -> tuple[QuerySet[Any], About]:
    """Reversals, and what was added to a record after it was first closed."""
    first = Seal.objects.filter(operation=OuterRef("operation")).order_by("number").values("at")[:1]
    mended = rows.filter(pk__in=changed).exclude(operation__kind__in=DATED)
    spoke = mended.annotate(spoke=Coalesce("corrects__at", "at"), closed=Subquery(first))
    known = spoke.annotate(about=Least("spoke", Coalesce("closed", "spoke")))

    def about(period: Period) -> tuple[Q, Q]:
        within = Q(about__gte=period.begins, about__lt=period.ends)
        return Q(about__lt=period.begins), within

    return known, about


def _entered_late(
    rows: QuerySet[Posting], period: Period, changed: Any
) -> tuple[QuerySet[Any], About]:
    """Deliveries and dispatches that were written down, or mended, after the day they are about."""
    late = Receipt.objects.filter(_late("received_on", period)).order_by().values("operation")
    sent_late = Dispatch.objects.filter(_late("sent_on", period)).order_by().values("operation")
    of_late = Posting.objects.order_by().filter(operation__in=late.union(sent_late)).values("pk")
    dated = rows.filter(operation__kind__in=DATED)
    late_ones = _named(of_late)
    are_few = isinstance(changed, list) and isinstance(late_ones, list)
    either = (
        Q(pk__in={*changed, *late_ones}) if are_few else Q(pk__in=changed) | Q(pk__in=late_ones)
    )
    known = dated.filter(either).annotate(
        day=Coalesce("operation__receipt__received_on", "operation__dispatch__sent_on")
    )

    def about(period: Period) -> tuple[Q, Q]:
        return Q(day__lt=period.first), Q(day__gte=period.first, day__lte=period.last)

    return known, about


def _late(day: str, period: Period) -> Q:
    """Written down beyond a border of the period that its day lies before."""
    first = Q(**{f"{day}__lt": period.first}, operation__opened_at__gte=period.begins)
    return first | Q(**{f"{day}__lte": period.last}, operation__opened_at__gte=period.ends)


def postings_behind(
    item: int,
    figure: str,
    period: Period,
    *,
    is_organic: bool | None = None,
    as_known_today: bool = True,
) -> QuerySet[Posting]:
    """The postings that a figure of an item is the sum of, the earliest first."""
    rows = _postings([item], is_organic=is_organic)
    at = (Q(at__lt=period.begins), Q(at__gte=period.begins, at__lt=period.ends))
    place = 0 if figure == "opening" else 1
    which = rows.filter(at[place])
    if as_known_today:
        others = _of_other_days(rows, period)
        keys = [known.values("pk") for known, _ in others]
        moved_here = [known.filter(about(period)[place]).values("pk") for known, about in others]
        which = which.exclude(pk__in=keys[0]).exclude(pk__in=keys[1])
        every = which.values("pk").union(*moved_here)
        which = rows.filter(pk__in=every)
    if figure != "opening":
        kinds = [key for key, (name, _) in FIGURES.items() if name == figure]
        which = which.filter(reduce(or_, (Q(operation__kind=k, side=s) for k, s in kinds)))
    found: QuerySet[Posting] = which.select_related("operation", "by", "lot").order_by("at", "pk")
    return found
