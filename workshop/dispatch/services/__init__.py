"""What can happen at dispatch: units go out, units come back; customers are kept."""

from workshop.dispatch.services.dispatches import (
    RefusedLine,
    dispatch,
    record_return,
    save_customer,
    seal_dispatch,
)

__all__ = [
    "RefusedLine",
    "dispatch",
    "record_return",
    "save_customer",
    "seal_dispatch",
]
