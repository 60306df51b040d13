"""Suppliers, their organic certificates, and receipts."""

from workshop.goods_in.models.receipts import Checked, Receipt, ReceiptLine, not_good
from workshop.goods_in.models.suppliers import LAPSING_WITHIN, Certificate, Supplier

__all__ = [
    "LAPSING_WITHIN",
    "Certificate",
    "Checked",
    "Receipt",
    "ReceiptLine",
    "Supplier",
    "not_good",
]
