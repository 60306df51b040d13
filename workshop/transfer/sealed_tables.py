"""What seals cover of this room: what was taken in from spreadsheets, and taken back."""

from collections.abc import Mapping

from workshop.core.database.sealing import Log, Table
from workshop.transfer.models import ColumnChoice, SheetImport, SheetTakenBack

RECORDS: Mapping[str, tuple[Table, ...]] = {}
LOGS = (Log(SheetImport), Log(SheetTakenBack), Log(ColumnChoice))
