"""Money: the currency and rates of the first day, prices, and each evening the minutes of work."""

from decimal import Decimal
from random import Random

from workshop.costs import services
from workshop.costs.models import WorkTime
from workshop.demo.story.clock import Clock
from workshop.demo.story.story_state import Book
from workshop.demo.tables.folder import rows_of
from workshop.ledger.models import TRANSFORMING, Operation, OperationKind

# Minutes of all people together, from and to.
MINUTES = {OperationKind.BATCH: (70, 140), OperationKind.PACKING: (35, 95)}


def open_the_till(book: Book, clock: Clock) -> None:
    at = clock.now
    services.enter_rates(
        from_on=book.day,
        currency="USD",
        labour_per_hour=Decimal(24),
        overhead_percent=Decimal(35),
        by=book.owner,
        at=at,
        token="rates of the first day",  # noqa: S106  no password
    )
    for row in rows_of("prices.csv"):
        services.enter_price(
            book.products[row["code"]].item,
            channel=row["channel"],
            price=Decimal(row["price"]),
            from_on=book.day,
            by=book.owner,
            at=at,
            token=f"price {row['code']} {row['channel']}",
        )


def note_the_minutes(book: Book, clock: Clock) -> None:
    """What was closed since the evening before; drawn apart, so that the story stays as it is."""
    done = Operation.objects.filter(kind__in=TRANSFORMING, closed_at__isnull=False)
    for operation in done.exclude(pk__in=WorkTime.objects.values("operation")).order_by("pk"):
        draw = Random(operation.reference)  # noqa: S311  not for secrets
        services.enter_minutes(
            operation,
            draw.randint(*MINUTES[OperationKind(operation.kind)]),
            by=book.owner,
            at=clock.now,
            token=f"minutes {operation.reference}",
        )
