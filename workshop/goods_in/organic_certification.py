"""Which lots may be used on a day, and which of them count as organic that day.

A lot counts as organic when it was received as organic and its supplier holds, on the day of
use, a valid certificate that covers the item: the one it came with, or the one that renewed it.
"""

from collections.abc import Callable, Iterable
from datetime import date

from django.db.models import Exists, OuterRef

from workshop.goods_in.models import Certificate
from workshop.ledger.models import Item, ItemKind, Lot, LotQuerySet

Covers = Callable[[Lot, date], bool]


def usable_lots(item: Item, *, on: date, organic: bool = False) -> LotQuerySet:
    """Released lots of `item` in stock and not past their date, first expired first.

    With `organic`, only lots that count as organic on that day. A bulk made here has no
    certificate of its own: whether it is organic enough follows from its composition, so its lots
    are all offered and the room that knows the formula's claim decides.
    """
    lots: LotQuerySet = item.lots.available(on=on)
    return certified(lots, on=on) if organic and item.kind != ItemKind.BULK else lots


def certified(lots: LotQuerySet, *, on: date) -> LotQuerySet:
    """Those of `lots` that came from a supplier and count as organic on that day."""
    valid = Certificate.objects.valid_on(on).filter(
        supplier=OuterRef("receipt_line__receipt__supplier"), items=OuterRef("item")
    )
    return lots.filter(Exists(valid), receipt_line__is_organic=True)


def covers_of(lots: Iterable[Lot]) -> Covers:
    """A look-up of the same answer for many lots and days, made with one query.

    The lots bring their receipt line and receipt along.
    """
    lines = {lot.pk: lot.receipt_line for lot in lots if getattr(lot, "receipt_line", None)}
    spans: dict[tuple[int, int], list[tuple[date, date]]] = {}
    rows = Certificate.objects.filter(
        supplier__in={line.receipt.supplier_id for line in lines.values()}, items__isnull=False
    ).values_list("supplier_id", "items", "valid_from", "valid_to")
    for supplier, item, valid_from, valid_to in rows:
        spans.setdefault((supplier, item), []).append((valid_from, valid_to))

    def counts_as_organic(lot: Lot, on: date) -> bool:
        line = lines.get(lot.pk)
        if line is None or not line.is_organic:
            return False
        held = spans.get((line.receipt.supplier_id, lot.item_id), ())
        return any(valid_from <= on <= valid_to for valid_from, valid_to in held)

    return counts_as_organic
