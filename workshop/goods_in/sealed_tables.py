"""What the seal of a receipt covers besides the ledger, and what is only ever added to."""

from workshop.core.database.sealing import Log, Table
from workshop.goods_in.models import (
    CertificateStop,
    OpeningLot,
    OrganicDecision,
    OrganicPapers,
    Receipt,
    ReceiptLine,
    SupplierReview,
)
from workshop.ledger.models import OperationKind

RECEIVED = (
    Table(Receipt, "operation"),
    Table(ReceiptLine, "receipt__operation"),
    Table(OrganicPapers, "receipt__operation"),
)
RECORDS = {
    OperationKind.RECEIPT: RECEIVED,
    OperationKind.OPENING: (*RECEIVED, Table(OpeningLot, "lot__origin")),
}
LOGS = (Log(CertificateStop), Log(OrganicDecision), Log(SupplierReview))
