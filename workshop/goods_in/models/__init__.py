"""Suppliers, their organic certificates, receipts, and what was done about organic status."""

from workshop.goods_in.models.openings import OpeningLot
from workshop.goods_in.models.organic import (
    CertificateStop,
    OrganicDecision,
    OrganicPapers,
    StopKind,
    SupplierReview,
    Verdict,
)
from workshop.goods_in.models.receipts import Checked, Receipt, ReceiptLine, not_good
from workshop.goods_in.models.suppliers import LAPSING_WITHIN, Certificate, Supplier

__all__ = [
    "LAPSING_WITHIN",
    "Certificate",
    "CertificateStop",
    "Checked",
    "OpeningLot",
    "OrganicDecision",
    "OrganicPapers",
    "Receipt",
    "ReceiptLine",
    "StopKind",
    "Supplier",
    "SupplierReview",
    "Verdict",
    "not_good",
]
