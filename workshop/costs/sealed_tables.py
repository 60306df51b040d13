"""Money is known later than goods: its rows are sealed with whatever is closed next."""

from workshop.core.database.sealing import Log, Table
from workshop.costs.models import Invoice, InvoiceLine, Rates, SalesPrice, WorkTime

RECORDS: dict[str, tuple[Table, ...]] = {}
LOGS = (Log(Rates), Log(Invoice), Log(InvoiceLine), Log(WorkTime), Log(SalesPrice))
