"""What Today looks at: everything that waits for somebody, each list with its words."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet

from workshop.aftersales.models import Complaint, ComplaintState
from workshop.dispatch import queries as dispatch
from workshop.dispatch.models import Dispatch
from workshop.goods_in.models import Certificate
from workshop.kettle.models import Batch
from workshop.ledger.models import Lot, Status
from workshop.ledger.stock_queries import stopped_by_date, with_last_reason
from workshop.packing import queries as packing
from workshop.packing.models import PackingRun

HORIZON = timedelta(days=60)
LAPSED_LATELY = timedelta(days=30)


def under_way(today: date) -> QuerySet[Batch]:
    rows: QuerySet[Batch] = Batch.objects.under_way()
    return rows.select_related("operation__opened_by", "version__formula__item", "kettle").order_by(
        "-pk"
    )


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


def below_zero(today: date) -> QuerySet[Lot]:
    rows: QuerySet[Lot] = Lot.objects.below_zero()
    return rows.select_related("item").order_by("pk")


def complaints(today: date) -> QuerySet[Complaint]:
    """Complaints that are not closed; a serious one, whose report is due, comes first."""
    rows = Complaint.objects.exclude(state=ComplaintState.CLOSED).select_related(
        "product", "customer"
    )
    return rows.order_by("-outcome", "received_on", "pk")


@dataclass(frozen=True)
class DashboardList:
    """One list of Today: its heading, and how the sentence on top speaks of one or several."""

    key: str
    heading: str
    one: str
    several: str
    rows: Callable[[date], QuerySet[Any]]

    @property
    def template(self) -> str:
        return f"front/_{self.key.replace('-', '_')}.html"


WATCHES = [
    DashboardList(
        "complaints",
        "Complaints not yet closed",
        "complaint is open",
        "complaints are open",
        complaints,
    ),
    DashboardList(
        "under-way",
        "Batches under way",
        "batch is under way",
        "batches are under way",
        under_way,
    ),
    DashboardList(
        "packing",
        "Packing runs under way",
        "packing run is under way",
        "packing runs are under way",
        packing_runs,
    ),
    DashboardList(
        "below-zero",
        "Below zero on the book: count these",
        "lot is below zero on the book",
        "lots are below zero on the book",
        below_zero,
    ),
    DashboardList(
        "awaiting",
        "Lots awaiting release",
        "lot awaits a decision",
        "lots await a decision",
        awaiting,
    ),
    DashboardList(
        "late",
        "Overdue: ask the customer",
        "dispatch is overdue",
        "dispatches are overdue",
        late,
    ),
    DashboardList(
        "expiring",
        "Expired, or expiring within 60 days",
        "lot is near or past its date",
        "lots are near or past their date",
        expiring,
    ),
    DashboardList(
        "lapsing",
        "Certificates due for renewal within 60 days",
        "certificate is due for renewal",
        "certificates are due for renewal",
        lapsing,
    ),
]
WATCH_OF = {watch.key: watch for watch in WATCHES}
MOST_COUNTED = 50
MOST_SHOWN = 5


@dataclass(frozen=True)
class ListResult:
    """A list as Today shows it: its first rows, and how many there are as far as counted."""

    watch: DashboardList
    rows: list[Any]

    @property
    def first(self) -> list[Any]:
        return self.rows[:MOST_SHOWN]

    @property
    def is_longer(self) -> bool:
        return len(self.rows) > MOST_SHOWN

    @property
    def number(self) -> str:
        return str(len(self.rows)) if len(self.rows) < MOST_COUNTED else f"{MOST_COUNTED} or more"

    @property
    def said(self) -> str:
        words = self.watch.one if len(self.rows) == 1 else self.watch.several
        return f"{self.number} {words}"


def seen_on(today: date) -> list[ListResult]:
    return [ListResult(watch, list(watch.rows(today)[:MOST_COUNTED])) for watch in WATCHES]


def sentence(seen: list[ListResult]) -> str:
    """What is true this morning, in one sentence."""
    said = [one.said for one in seen if one.rows]
    if not said:
        return (
            "Nothing waits: no batch is under way, no lot needs a decision, none is near its date"
        )
    return said[0] if len(said) == 1 else ", ".join(said[:-1]) + " and " + said[-1]
