"""What seals cover of labels: the log of what was printed, counted and decided."""

from workshop.core.database.sealing import Log, Table
from workshop.labels.models import ClaimAnswer, ClaimProof, Decision, LabelCount, Print, Roll

RECORDS: dict[str, tuple[Table, ...]] = {}
LOGS = (
    Log(Print),
    Log(LabelCount),
    Log(Decision),
    Log(ClaimProof),
    Log(ClaimAnswer),
    Log(Roll),
)
