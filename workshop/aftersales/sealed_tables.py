"""What seals cover of complaints and recalls: their logs. Their heads have a history."""

from workshop.aftersales.models import ComplaintEvent, RecallEntry, RecallLine
from workshop.core.database.sealing import Log, Table

RECORDS: dict[str, tuple[Table, ...]] = {}
LOGS = (Log(ComplaintEvent), Log(RecallEntry), Log(RecallLine))
