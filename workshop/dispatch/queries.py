"""Where dispatches are: on their way, arrived, or taken as arrived after a time without word."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import Q, QuerySet, Subquery, Sum

from workshop.core.formatting import number
from workshop.core.models import MOST_DAYS_ON_THE_WAY, USUAL_DAYS_ON_THE_WAY, Workshop
from workshop.dispatch.models import Dispatch, DispatchQuerySet, Whereabouts
from workshop.ledger.models import Posting


def days_on_the_way() -> int:
    """After how many days without word a dispatch is taken as arrived."""
    kept = Workshop.objects.values_list("days_on_the_way", flat=True).first()
    return kept or USUAL_DAYS_ON_THE_WAY


def on_its_way(lot_ids: Collection[int], *, on: date) -> dict[int, Decimal]:
    """How much of each lot is on its way to customers on that day, by the lot's key: one query.

    Lots of which nothing is on its way are left out.
    """
    travelling = Dispatch.objects.without_word(on=on).filter(
        sent_on__gt=on - timedelta(days=MOST_DAYS_ON_THE_WAY)
    )
    rows = (
        Posting.objects.filter(lot__in=list(lot_ids), operation__in=travelling.values("operation"))
        .order_by()
        .values_list("lot", "operation__dispatch__sent_on")
        .annotate(
            change=Sum("quantity"), days=Subquery(Workshop.objects.values("days_on_the_way")[:1])
        )
    )
    found: dict[int, Decimal] = defaultdict(Decimal)
    for lot, sent_on, change, days in rows:
        if change and (on - sent_on).days < (days or USUAL_DAYS_ON_THE_WAY):
            found[lot] -= change
    return dict(found)


def dispatches(*, on: date) -> DispatchQuerySet:
    """All of them with customer, units and whereabouts, newest first."""
    rows: DispatchQuerySet = Dispatch.objects.with_units().with_whereabouts(
        on=on, days=days_on_the_way()
    )
    return rows.select_related("customer", "operation")


@dataclass(frozen=True)
class Travelling:
    """A dispatch on its way, and how many days it has been."""

    row: Dispatch
    day: int

    @property
    def words(self) -> str:
        units = f"{number(self.row.units_sent)} unit{'' if self.row.units_sent == 1 else 's'}"
        return f"{units}, day {self.day}" if self.day else f"{units}, sent today"


def travelling(*, on: date, most: int) -> list[Travelling]:
    """What is on its way, sent longest ago first."""
    rows = dispatches(on=on).filter(Q(whereabouts=Whereabouts.ON_ITS_WAY)).order_by("sent_on", "pk")
    return [Travelling(row, (on - row.sent_on).days) for row in rows[:most]]


def late(*, on: date) -> QuerySet[Dispatch]:
    """On their way for half of the days that a dispatch may take: time to ask after them."""
    days = days_on_the_way()
    since = on - timedelta(days=(days + 1) // 2)
    rows = dispatches(on=on).filter(Q(whereabouts=Whereabouts.ON_ITS_WAY), sent_on__lte=since)
    return rows.order_by("sent_on", "pk")
