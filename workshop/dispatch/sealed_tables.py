"""What the seals of a dispatch and of a return cover besides the ledger."""

from workshop.core.database.sealing import Log, Table
from workshop.dispatch.models import Arrival, Dispatch, Return, WordTakenBack
from workshop.ledger.models import Act

RECORDS = {
    Act.DISPATCH: (Table(Dispatch, "operation"),),
    Act.RETURN: (Table(Return, "operation"),),
}
# Word of an arrival comes after the dispatch was sealed.
LOGS = (Log(Arrival), Log(WordTakenBack))
