"""What the seal of a batch covers besides the ledger, and what is only ever added to."""

from workshop.core.database.sealing import Log, Table
from workshop.kettle.models import (
    Batch,
    BatchLine,
    Check,
    Cleaning,
    Photo,
    TargetChange,
    Timer,
    Weighing,
)
from workshop.ledger.models import OperationKind

RECORDS = {
    OperationKind.BATCH: (
        Table(Batch, "operation"),
        Table(BatchLine, "batch__operation"),
        Table(Weighing, "line__batch__operation", grows=True),
        Table(TargetChange, "line__batch__operation", grows=True),
        Table(Check, "batch__operation", grows=True),
        Table(Photo, "batch__operation", grows=True),
        # A timer may still run when its batch is closed.
        Table(Timer, "batch__operation", but_not=("ended_at",), grows=True),
    )
}
LOGS = (Log(Cleaning),)
