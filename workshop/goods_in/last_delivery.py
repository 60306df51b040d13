"""A delivery like an earlier one: what to propose for its head and its rows."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from workshop.goods_in.models import Receipt, ReceiptLine
from workshop.goods_in.named_items import KnownGoods

LOOKED_THROUGH, MOST_SHOWN = 30, 4


def latest_of_each_supplier() -> list[Receipt]:
    """The last delivery of each of the suppliers that delivered of late, newest first."""
    receipts = Receipt.objects.with_counts().filter(supplier__is_active=True)
    latest: dict[int, Receipt] = {}
    for receipt in receipts.select_related("operation", "supplier")[:LOOKED_THROUGH]:
        if receipt.lot_count:
            latest.setdefault(receipt.supplier_id, receipt)
    return list(latest.values())[:MOST_SHOWN]


def head_like(receipt: Receipt, on: date) -> dict[str, Any]:
    """The supplier, and its certificate where all organic lots came under one that still holds."""
    lines = receipt.lines.effective().filter(is_organic=True).select_related("certificate")
    certificates = {line.certificate for line in lines}
    sole = certificates.pop() if len(certificates) == 1 else None
    holds = sole is not None and sole.is_valid_on(on)
    return {"supplier": receipt.supplier_id, "certificate": sole.pk if sole and holds else ""}


def rows_like(receipt: Receipt, goods: KnownGoods) -> list[dict[str, Any]]:
    """What came and how much. Lots and dates are read from the new containers."""
    return [_row(line, goods) for line in _standing(receipt) if line.lot.item.is_active]


def _standing(receipt: Receipt) -> Iterable[ReceiptLine]:
    return receipt.lines.effective().select_related("lot__item")


def _row(line: ReceiptLine, goods: KnownGoods) -> dict[str, Any]:
    return {
        "item": goods.name_of(line.lot.item),
        "quantity_as_written": line.quantity_as_written,
        "supplier_gtin": line.supplier_gtin,
    }
