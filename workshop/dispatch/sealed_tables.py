"""What the seals of a dispatch and of a return cover besides the ledger."""

from workshop.core.database.sealing import Log, Table
from workshop.dispatch.models import ConfirmationReversal, DeliveryConfirmation, Dispatch, Return
from workshop.ledger.models import OperationKind

RECORDS = {
    OperationKind.DISPATCH: (Table(Dispatch, "operation"),),
    OperationKind.RETURN: (Table(Return, "operation"),),
}
# Word of an arrival comes after the dispatch was sealed.
LOGS = (Log(DeliveryConfirmation), Log(ConfirmationReversal))
