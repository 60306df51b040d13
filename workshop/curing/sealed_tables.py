"""What seals cover of soap on its racks: logs that are only ever added to."""

from workshop.core.database.sealing import Log, Table
from workshop.curing.models import CureTest, CureWeighing, RackPlace, Standing

RECORDS: dict[str, tuple[Table, ...]] = {}
LOGS = (Log(RackPlace), Log(Standing), Log(CureWeighing), Log(CureTest))
