"""What seals cover of organic: the log of packs handed over."""

from workshop.core.database.sealing import Log, Table
from workshop.organic.models import Pack

RECORDS: dict[str, tuple[Table, ...]] = {}
LOGS = (Log(Pack),)
