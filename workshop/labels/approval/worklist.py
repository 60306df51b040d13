"""Finished lots held against their labels before anybody asks to print."""

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from django.db.models import Exists, OuterRef, Q, QuerySet

from workshop.core.errors import ActionRefused
from workshop.labels.approval.print_status import LabelStatus, label_status
from workshop.labels.content.label import known_workshop, markets_of
from workshop.labels.content.lot_facts import LotFacts, facts_of_lots
from workshop.labels.models import Print, PrintKind
from workshop.ledger.models import ItemKind, Lot, OperationKind, Status

# Each is worked out anew from its tree, so only the newest are looked at.
MOST_LOOKED_AT = 40
LATELY = timedelta(days=30)


def finished_in_stock() -> QuerySet[Lot]:
    """The newest finished lots in hand that may get a label."""
    return _finished()[:MOST_LOOKED_AT]


def unlabelled(*, on: date) -> QuerySet[Lot]:
    """The newest of those that wait for their labels."""
    return all_unlabelled(on=on)[:MOST_LOOKED_AT]


def all_unlabelled(*, on: date) -> QuerySet[Lot]:
    """Those packed lately that no label was printed for: they wait for theirs."""
    printed = Print.objects.filter(lot=OuterRef("pk"), kind=PrintKind.LABEL)
    return _finished().filter(~Q(Exists(printed)), made_on__gt=on - LATELY)


def _finished() -> QuerySet[Lot]:
    lots: QuerySet[Lot] = Lot.objects.in_stock().exclude(status=Status.REJECTED)
    packed = Q(item__kind=ItemKind.PRODUCT, origin__kind=OperationKind.PACKING)
    found = lots.filter(packed, item__product__isnull=False)
    names = ("item__product__item", "item__product__label_design", "origin")
    return found.select_related(*names).order_by("-pk")


def mismatched(lots: Iterable[Lot]) -> Iterator[LabelStatus]:
    """Where the label would be untrue in a market that the product is sold in, and undecided.

    What they say is read for all of them at once: the number of queries stays the same.
    """
    lots = list(lots)
    facts = facts_of_lots(lots)
    for lot in lots:
        try:
            for market in _markets(lot, facts[lot.pk]):
                standing = label_status(lot, market, facts=facts[lot.pk])
                if not standing.is_settled:
                    yield standing
        except ActionRefused:
            continue  # what has no label at all is told on the lot's own page


def _markets(lot: Lot, facts: LotFacts) -> list[str]:
    return markets_of(lot.item.product, known_workshop(facts.workshop))
