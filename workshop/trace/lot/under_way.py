"""What is in a kettle now, or in a run: taken of a lot, and no lot made of it yet."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Exists, OuterRef, Sum

from workshop.ledger.models import TRANSFORMING, Lot, Operation, Posting, Side
from workshop.trace.lot.result import Trace


@dataclass(frozen=True)
class UnderWay:
    """An operation that took of a lot, and how much, in the unit of the lot."""

    operation: Operation
    lot: Lot
    taken: Decimal


def under_way(trace: Trace) -> Sequence[UnderWay]:
    """Of the lot traced and of all made from it. Two queries: few operations are ever open."""
    lots = {trace.lot.pk: trace.lot, **{made.lot.pk: made.lot for made in trace.products}}
    made = Posting.objects.effective().filter(operation=OuterRef("operation"), side=Side.OUT)
    taken = (
        Posting.objects.effective()
        .filter(
            ~Exists(made),
            side=Side.IN,
            operation__kind__in=TRANSFORMING,
            operation__closed_at=None,
        )
        .order_by("operation", "lot")
        .values_list("operation", "lot")
        .annotate(total=Sum("quantity"))
    )
    found = [(operation, lot, -total) for operation, lot, total in taken if lot in lots]
    open_now = {one.pk: one for one in Operation.objects.filter(pk__in={row[0] for row in found})}
    return [UnderWay(open_now[operation], lots[lot], grams) for operation, lot, grams in found]
