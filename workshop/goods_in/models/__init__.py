"""Suppliers, organic certificates, what a material is made of, and receipts."""

from workshop.goods_in.models.materials import (
    NEVER_ORGANIC,
    BlendPart,
    Constituency,
    Profile,
    profile_of,
)
from workshop.goods_in.models.receipts import Checked, Receipt, ReceiptLine, not_good
from workshop.goods_in.models.suppliers import LAPSING_WITHIN, Certificate, Supplier

__all__ = [
    "LAPSING_WITHIN",
    "NEVER_ORGANIC",
    "BlendPart",
    "Certificate",
    "Checked",
    "Constituency",
    "Profile",
    "Receipt",
    "ReceiptLine",
    "Supplier",
    "not_good",
    "profile_of",
]
