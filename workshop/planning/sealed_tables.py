"""Plans and orders are no movements: their rows are sealed with whatever is closed next."""

from workshop.core.database.sealing import Log, Table
from workshop.planning.models import (
    AcceptedWeek,
    CustomerOrder,
    CustomerOrderLine,
    Hours,
    PlannedBatch,
    PlannedRun,
    PurchaseLine,
    PurchaseOrder,
    PurchaseStop,
    Reservation,
    Terms,
)

RECORDS: dict[str, tuple[Table, ...]] = {}
LOGS = tuple(
    Log(model)
    for model in (
        Hours,
        Terms,
        CustomerOrder,
        CustomerOrderLine,
        PurchaseOrder,
        PurchaseLine,
        PurchaseStop,
        AcceptedWeek,
        PlannedBatch,
        Reservation,
        PlannedRun,
    )
)
