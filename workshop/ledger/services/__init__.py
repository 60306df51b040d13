"""What can happen to the ledger: open, post, reverse, close, amend, and what a lot is given."""

from workshop.ledger.services.lots import change_best_before, create_lot, set_lot_status
from workshop.ledger.services.operations import (
    amend_operation,
    close_operation,
    hold,
    next_reference,
    open_operation,
)
from workshop.ledger.services.postings import LARGEST, on_hand, post, post_held, reverse, withdraw
from workshop.ledger.services.stock import count_lot, discard

__all__ = [
    "LARGEST",
    "amend_operation",
    "change_best_before",
    "close_operation",
    "count_lot",
    "create_lot",
    "discard",
    "hold",
    "next_reference",
    "on_hand",
    "open_operation",
    "post",
    "post_held",
    "reverse",
    "set_lot_status",
    "withdraw",
]
