"""What the seal of a packing run covers besides the ledger."""

from workshop.core.database.sealing import Log, Table
from workshop.ledger.models import OperationKind
from workshop.packing.models import FillSample, PackingRun, Retained

RECORDS = {
    OperationKind.PACKING: (
        Table(PackingRun, "operation"),
        Table(FillSample, "run__operation", grows=True),
    )
}
# Units are kept back and given up at any time, long after the run.
LOGS = (Log(Retained),)
