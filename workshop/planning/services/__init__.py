"""What is entered and done in planning. Rows are added only."""

from workshop.planning.services.accept_week import accept_week
from workshop.planning.services.customer_orders import (
    OrderFacts,
    cancel_order,
    enter_order,
    take_orders,
)
from workshop.planning.services.purchases import (
    PurchaseFacts,
    stop_purchase,
    write_purchase,
    write_purchases,
)
from workshop.planning.services.settings import HoursFacts, TermsFacts, keep_hours, keep_terms

__all__ = [
    "HoursFacts",
    "OrderFacts",
    "PurchaseFacts",
    "TermsFacts",
    "accept_week",
    "cancel_order",
    "enter_order",
    "keep_hours",
    "keep_terms",
    "stop_purchase",
    "take_orders",
    "write_purchase",
    "write_purchases",
]
