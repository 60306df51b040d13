"""What seals cover of complaints and recalls: their logs. Their heads have a history."""

from workshop.core.records import Log, Table
from workshop.trace.models import ComplaintEvent, RecallEntry, RecallLine

RECORDS: dict[str, tuple[Table, ...]] = {}
LOGS = (Log(ComplaintEvent), Log(RecallEntry), Log(RecallLine))
