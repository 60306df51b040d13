"""Money over a large ledger, beside one grouped pass over its postings in bare SQL.

The pass adds up what moved of every lot, by kind of act and by side, before the period and within
it. It knows no price: the book also reads what was paid and how long each batch took, works out
what each of the lots cost, and multiplies.
"""

from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal

from django.db import connection

from benchmarks.family import rows_of
from benchmarks.shape import START, fill
from benchmarks.timing import Measurement, compare
from workshop.core.models import User
from workshop.costs.models import Invoice, InvoiceLine, Rates, WorkTime
from workshop.costs.period import Period, account_of
from workshop.costs.values.whole_book import whole_book
from workshop.goods_in.models import ReceiptLine
from workshop.ledger.models import Operation, OperationKind, Posting

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
    """What the stock was worth and a year came to; what every lot cost."""
    shape = fill(postings, popular_feeds=FEEDS)
    enter_prices()
    last = Posting.objects.order_by("-pk").values_list("at", flat=True)[0].date()
    middle = START.date() + (last - START.date()) / 2
    day = Period(last, last)
    for name, period in {
        "the stock of a day": day,
        "the latest year": Period(max(last - timedelta(days=365), START.date()), last),
        "the later half of the book": Period(middle, last),
        "the earlier half of the book": Period(START.date(), middle),
    }.items():
        yield compare(
            f"{shape.postings:,}: {name} in money",
            lambda period=period: account_of(period),  # type: ignore[misc]  # bound here
            lambda period=period: rows_of(by_hand(period)),  # type: ignore[misc]  # bound here
            times=5,
        )
    yield compare(
        f"{shape.postings:,}: what every lot cost",
        whole_book,
        lambda: rows_of(by_hand(day)),
        times=5,
    )


def by_hand(period: Period) -> str:
    adapt = connection.ops.adapt_datetimefield_value
    return BY_HAND.format(first=adapt(period.begins), ends=adapt(period.ends))


def enter_prices() -> None:
    """An invoice for every delivery, the minutes of every batch, and what an hour costs."""
    owner = User.objects.all()[0]
    entry = {"at": START, "by": owner}
    Rates.objects.create(
        from_on=START.date(),
        currency="EUR",
        labour_per_hour=Decimal(31),
        overhead_percent=Decimal(17),
        token="rates",  # noqa: S106  marks a form
        **entry,
    )
    lines = list(ReceiptLine.objects.order_by("pk").values_list("pk", "receipt"))
    invoices = Invoice.objects.bulk_create(
        (
            Invoice(
                receipt_id=receipt, currency="EUR", freight=Decimal(45), token=f"i{line}", **entry
            )
            for line, receipt in lines
        ),
        batch_size=2_000,
    )
    InvoiceLine.objects.bulk_create(
        (
            InvoiceLine(invoice=invoice, line_id=line, price=Decimal(4_000 + line * 37 % 9_000))
            for invoice, (line, _) in zip(invoices, lines, strict=True)
        ),
        batch_size=2_000,
    )
    batches = Operation.objects.filter(kind=OperationKind.BATCH).order_by("pk")
    WorkTime.objects.bulk_create(
        (
            WorkTime(operation_id=key, minutes=30 + key % 97, token=f"w{key}", **entry)
            for key in batches.values_list("pk", flat=True)
        ),
        batch_size=2_000,
    )
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
