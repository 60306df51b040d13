"""Balances of mass over a large ledger, beside grouped SQL as somebody would write it by hand."""

from collections.abc import Iterator
from datetime import timedelta
from functools import partial

from django.db import connection

from benchmarks.family import rows_of
from benchmarks.shape import START, fill
from benchmarks.timing import Measurement, compare
from workshop.ledger.models import ItemKind, Posting
from workshop.organic.balance.query import Period, sums

FEEDS = 300  # batches that one raw lot feeds
# By item, kind and side: what moved before the period and within it.
BY_HAND = """
SELECT l.item_id, o.kind, p.side,
    SUM(CASE WHEN p.at < '{first}' THEN p.quantity ELSE 0 END),
    SUM(CASE WHEN p.at >= '{first}' THEN p.quantity ELSE 0 END)
FROM ledger_posting p
JOIN ledger_lot l ON l.id = p.lot_id
JOIN ledger_operation o ON o.id = p.operation_id
WHERE p.at < '{ends}'{which}
GROUP BY l.item_id, o.kind, p.side
"""


def measure(postings: int) -> Iterator[Measurement]:
    shape = fill(postings, popular_feeds=FEEDS)
    last = Posting.objects.order_by("-pk").values_list("at", flat=True)[0].date()
    period = Period(max(last - timedelta(days=365), START.date()), last)
    item = (
        Posting.objects.filter(lot__item__kind=ItemKind.MATERIAL)
        .order_by("pk")
        .values_list("lot__item", flat=True)[0]
    )
    adapt = partial(connection.ops.adapt_datetimefield_value)
    days = {"first": adapt(period.begins), "ends": adapt(period.ends)}
    one = BY_HAND.format(**days, which=f" AND l.item_id = {item}")
    every = BY_HAND.format(**days, which="")
    size = f"{shape.postings:,}: "
    yield compare(
        f"{size}a year of one item",
        lambda: sums(period, ["lot__item"], items=[item]),
        lambda: rows_of(one),
        times=7,
    )
    yield compare(
        f"{size}a year of all items",
        lambda: sums(period, ["lot__item"]),
        lambda: rows_of(every),
        times=7,
    )
