"""What the seal of a receipt covers besides the ledger."""

from workshop.core.database.sealing import Log, Table
from workshop.goods_in.models import Receipt, ReceiptLine
from workshop.ledger.models import OperationKind

RECORDS = {
    OperationKind.RECEIPT: (Table(Receipt, "operation"), Table(ReceiptLine, "receipt__operation"))
}
LOGS: tuple[Log, ...] = ()
