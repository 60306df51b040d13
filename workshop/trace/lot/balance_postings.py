"""The postings behind each figure of a lot's balance."""

from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Q, Sum

from workshop.ledger.models import (
    BRINGING_IN,
    TRANSFORMING,
    Lot,
    OperationKind,
    Posting,
    PostingQuerySet,
    Side,
)

MADE = (*BRINGING_IN, *TRANSFORMING)


@dataclass(frozen=True)
class Figure:
    """One figure: its heading, the postings it is the sum of, and whether it counts downwards."""

    heading: str
    which: Q
    is_loss: bool = False


FIGURES = {
    "came-in": Figure("received or made", Q(operation__kind__in=MADE, side=Side.OUT)),
    "used": Figure("used", Q(operation__kind__in=TRANSFORMING, side=Side.IN), is_loss=True),
    "sent": Figure(
        "sent out", Q(operation__kind=OperationKind.DISPATCH, side=Side.IN), is_loss=True
    ),
    "returned": Figure("came back", Q(operation__kind=OperationKind.RETURN, side=Side.OUT)),
    "discarded": Figure(
        "written off", Q(operation__kind=OperationKind.DISCARD, side=Side.IN), is_loss=True
    ),
    "shed": Figure(
        "dried, trimmed or sampled",
        Q(operation__kind=OperationKind.SHED, side=Side.IN),
        is_loss=True,
    ),
    "counted": Figure("counted difference", Q(operation__kind=OperationKind.COUNT)),
    "on-hand": Figure("on hand", Q()),
}


def postings_of(lot: Lot, figure: Figure) -> PostingQuerySet:
    """The postings of one figure, reversals among them, the earliest first."""
    rows = Posting.objects.filter(figure.which, lot=lot).order_by("pk")
    return rows.select_related("operation", "by", "corrects", "lot__item")


def total_of(lot: Lot, figure: Figure) -> Decimal:
    summed = Posting.objects.filter(figure.which, lot=lot).aggregate(total=Sum("quantity"))
    total: Decimal = summed["total"] or Decimal(0)
    return -total if figure.is_loss else total
