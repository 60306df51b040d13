"""What Today looks at: everything that waits for somebody, each list with its words."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet

from workshop.aftersales.models import Complaint, ComplaintState
from workshop.counts import due
from workshop.counts.models import CountRound
from workshop.curing.release_readiness import due_on_racks
from workshop.dispatch import queries as dispatch
from workshop.dispatch.models import Dispatch
from workshop.goods_in.models import Certificate, Supplier
from workshop.kettle.models import Batch
from workshop.ledger.models import Lot, Status
from workshop.ledger.stock_queries import stopped_by_date, with_last_reason
from workshop.packing import queries as packing
from workshop.packing.models import PackingRun

HORIZON = timedelta(days=60)
LAPSED_LATELY = timedelta(days=30)


def under_way(today: date) -> QuerySet[Batch]:
    rows: QuerySet[Batch] = Batch.objects.with_names().with_weights().under_way()
    return rows.order_by("-pk")


def packing_runs(today: date) -> QuerySet[PackingRun]:
    return packing.under_way()


def late(today: date) -> QuerySet[Dispatch]:
    """Dispatches that have been on the way for half of the days they may take."""
    return dispatch.late(on=today)


def awaiting(today: date) -> QuerySet[Lot]:
    """Lots in hand that somebody must decide on, those that wait longest first.

    So must somebody on lots that were released with a date now too late, wherever they are.
    """
    waiting = Lot.objects.with_on_hand().filter(status__in=[Status.QUARANTINE, Status.ON_HOLD])
    stopped = waiting.filter(~Q(on_hand=0) | stopped_by_date())
    rows: QuerySet[Lot] = with_last_reason(stopped).select_related("item", "origin")
    return rows.order_by("pk")


def expiring(today: date) -> QuerySet[Lot]:
    """Lots in hand that are past their date or will be within the horizon."""
    rows: QuerySet[Lot] = Lot.objects.in_stock().exclude(status=Status.REJECTED)
    soon = rows.filter(best_before__lte=today + HORIZON)
    return soon.select_related("item").order_by("best_before", "pk")


def lapsing(today: date) -> QuerySet[Certificate]:
    """Certificates that lapse within the horizon or lapsed lately, unless a later one is in."""
    later = Certificate.objects.filter(
        supplier=OuterRef("supplier"),
        certifier=OuterRef("certifier"),
        valid_to__gt=OuterRef("valid_to"),
    )
    rows = Certificate.objects.filter(
        ~Q(Exists(later)), valid_to__range=(today - LAPSED_LATELY, today + HORIZON)
    )
    return rows.select_related("supplier").order_by("valid_to", "pk")


def reviews(today: date) -> QuerySet[Supplier]:
    """Suppliers whose next review is due within the horizon, or was."""
    rows: QuerySet[Supplier] = Supplier.objects.review_due_by(today + HORIZON)
    return rows.order_by("review_due", "pk")


def below_zero(today: date) -> QuerySet[Lot]:
    rows: QuerySet[Lot] = Lot.objects.below_zero()
    return rows.select_related("item").order_by("pk")


def rounds(today: date) -> QuerySet[CountRound]:
    """Rounds of counting under way."""
    rows: QuerySet[CountRound] = CountRound.objects.under_way().with_progress()
    return rows.select_related("place").order_by("pk")


def due_for_counting(today: date) -> QuerySet[Lot]:
    return due.due_lots(today)


def complaints(today: date) -> QuerySet[Complaint]:
    """Complaints that are not closed; a serious one, whose report is due, comes first."""
    rows = Complaint.objects.exclude(state=ComplaintState.CLOSED).select_related(
        "product", "customer"
    )
    return rows.order_by("-outcome", "received_on", "pk")


@dataclass(frozen=True)
class DashboardList:
    """One list of Today, by its heading; `act` is what may be done about all of it, and where."""

    key: str
    heading: str
    rows: Callable[[date], QuerySet[Any]]
    act: str = ""
    act_page: str = ""
    act_query: str = ""


WATCHES = [
    DashboardList("complaints", "Complaints not yet closed", complaints),
    DashboardList("under-way", "Batches under way", under_way),
    DashboardList("packing", "Packing runs under way", packing_runs),
    DashboardList(
        "racks",
        "Weigh the racks: a week has passed",
        due_on_racks,
        "Weigh the racks",
        "curing:home",
    ),
    DashboardList("below-zero", "Below zero on the book: count these", below_zero),
    DashboardList("rounds", "Rounds of counting under way", rounds),
    DashboardList("awaiting", "Lots awaiting release", awaiting),
    DashboardList("late", "Overdue: ask the customer", late),
    DashboardList("expiring", "Expired, or expiring within 60 days", expiring),
    DashboardList(
        "due-for-counting",
        "Due for counting",
        due_for_counting,
        "Begin a round of what is due",
        "counts:new",
        "?due=yes",
    ),
    DashboardList("lapsing", "Certificates due for renewal within 60 days", lapsing),
    DashboardList("reviews", "Suppliers to be reviewed within 60 days", reviews),
]
WATCH_OF = {watch.key: watch for watch in WATCHES}
MOST_COUNTED = 50


@dataclass(frozen=True)
class ListResult:
    """A list as Today counts it: its rows as far as they are counted."""

    watch: DashboardList
    rows: list[Any]

    @property
    def number(self) -> str:
        return str(len(self.rows)) if len(self.rows) < MOST_COUNTED else f"{MOST_COUNTED} or more"


def seen_on(today: date) -> list[ListResult]:
    return [ListResult(watch, list(watch.rows(today)[:MOST_COUNTED])) for watch in WATCHES]


def nothing_waits() -> str:
    return (
        "Nothing is waiting: no batch is under way, no lot needs a decision, none is near its date"
    )
