"""Which lots went into an operation and were strained out of it again."""

from collections.abc import Collection

from workshop.ledger.models import Shed, ShedKind

# By operation and lot: the INCI name of what the lot left there, empty where nothing is named.
Strained = dict[tuple[int, int], str]


def strained_out(operations: Collection[int]) -> Strained:
    """What was strained out of these operations: one query.

    However many grams of a lot went in, and whatever the marc weighed, none of it is in what the
    operation made.
    """
    rows = Shed.objects.effective().filter(kind=ShedKind.STRAINED, operation__in=operations)
    found = rows.order_by("pk").values_list("operation", "lot", "stays")
    return {(operation, lot): stays for operation, lot, stays in found if lot}
