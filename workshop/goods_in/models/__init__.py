"""Suppliers, organic certificates, what a material is made of, and receipts."""

from workshop.goods_in.models.contents import AllergenContent, SoapValue, soap_value_of
from workshop.goods_in.models.materials import (
    ALWAYS,
    NEVER_ORGANIC,
    BlendPart,
    Constituency,
    Profile,
    profile_of,
)
from workshop.goods_in.models.receipts import Checked, Receipt, ReceiptLine, not_good
from workshop.goods_in.models.suppliers import LAPSING_WITHIN, Certificate, Supplier

__all__ = [
    "ALWAYS",
    "LAPSING_WITHIN",
    "NEVER_ORGANIC",
    "AllergenContent",
    "BlendPart",
    "Certificate",
    "Checked",
    "Constituency",
    "Profile",
    "Receipt",
    "ReceiptLine",
    "SoapValue",
    "Supplier",
    "not_good",
    "profile_of",
    "soap_value_of",
]
