"""What seals cover of product files: their entries."""

from workshop.core.database.sealing import Log, Table
from workshop.dossier.models import Entry

RECORDS: dict[str, tuple[Table, ...]] = {}
LOGS = (Log(Entry),)
