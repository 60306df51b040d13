"""What a week has, how things are bought, orders either way, and weeks that were accepted.

Rows are added, never changed. Of settings the latest counts; an order has one word more at most.
"""

from workshop.planning.models.orders import (
    CustomerOrder,
    CustomerOrderLine,
    PurchaseLine,
    PurchaseOrder,
    PurchaseStop,
)
from workshop.planning.models.settings import NO_DAYS, Hours, Terms
from workshop.planning.models.weeks import (
    AcceptedWeek,
    PlannedBatch,
    PlannedRun,
    Reservation,
)

__all__ = [
    "NO_DAYS",
    "AcceptedWeek",
    "CustomerOrder",
    "CustomerOrderLine",
    "Hours",
    "PlannedBatch",
    "PlannedRun",
    "PurchaseLine",
    "PurchaseOrder",
    "PurchaseStop",
    "Reservation",
    "Terms",
]
