"""Money over a large ledger, beside one grouped pass over its postings in bare SQL."""

from collections.abc import Iterator
from datetime import timedelta
from functools import partial

from django.db import connection

from benchmarks.family import rows_of
from benchmarks.shape import START, fill
from benchmarks.timing import Measurement, compare
from workshop.costs.lot_values import values_of
from workshop.costs.period import Period, account_of
from workshop.ledger.models import Posting

FEEDS = 300  # batches that one raw lot feeds
# By lot, kind and side: what moved before the period and within it.
BY_HAND = """
SELECT p.lot_id, o.kind, p.side,
    SUM(CASE WHEN p.at < '{first}' THEN p.quantity ELSE 0 END),
    SUM(CASE WHEN p.at >= '{first}' THEN p.quantity ELSE 0 END)
FROM ledger_posting p
JOIN ledger_operation o ON o.id = p.operation_id
WHERE p.at < '{ends}'
GROUP BY p.lot_id, o.kind, p.side
"""


def measure(postings: int) -> Iterator[Measurement]:
    """What the stock was worth and a year came to; what every product cost in a year."""
    shape = fill(postings, popular_feeds=FEEDS)
    last = Posting.objects.order_by("-pk").values_list("at", flat=True)[0].date()
    year = Period(max(last - timedelta(days=365), START.date()), last)
    day = Period(last, last)
    adapt = partial(connection.ops.adapt_datetimefield_value)
    size = f"{shape.postings:,}: "

    def by_hand(period: Period) -> str:
        return BY_HAND.format(first=adapt(period.begins), ends=adapt(period.ends))

    yield compare(
        f"{size}the stock of a day in money",
        lambda: account_of(day),
        lambda: rows_of(by_hand(day)),
        times=3,
    )
    yield compare(
        f"{size}a year in money",
        lambda: account_of(year),
        lambda: rows_of(by_hand(year)),
        times=3,
    )
    yield compare(
        f"{size}what every lot cost",
        lambda: values_of(),
        lambda: rows_of(by_hand(year)),
        times=3,
    )
