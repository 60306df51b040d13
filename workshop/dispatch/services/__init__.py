"""What can happen at dispatch: units go out, units come back; customers are kept."""

from workshop.dispatch.services.dispatches import (
    RefusedLine,
    dispatch,
    save_customer,
    seal_dispatch,
    take_back,
)

__all__ = [
    "RefusedLine",
    "dispatch",
    "save_customer",
    "seal_dispatch",
    "take_back",
]
