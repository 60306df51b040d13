"""What can happen to the ledger: open, post, reverse, close, amend, and what a lot is given."""

from workshop.ledger.services.amendments import (
    Fact,
    InTheWay,
    begin_amendment,
    note_facts,
    obstacle,
    refuse_used,
    reverse_all,
    void_lots,
)
from workshop.ledger.services.count_and_discard import count_lot, discard
from workshop.ledger.services.losses import shed, shed_in_store, strain_out, take_shed_back
from workshop.ledger.services.lots import (
    change_best_before,
    create_lot,
    set_lot_status,
    undo_release,
)
from workshop.ledger.services.operations import (
    amend_operation,
    close_operation,
    lock_operation,
    next_reference,
    open_operation,
)
from workshop.ledger.services.places import put_in_place, save_place
from workshop.ledger.services.postings import LARGEST, on_hand, post, post_held, reverse, withdraw

__all__ = [
    "LARGEST",
    "Fact",
    "InTheWay",
    "amend_operation",
    "begin_amendment",
    "change_best_before",
    "close_operation",
    "count_lot",
    "create_lot",
    "discard",
    "lock_operation",
    "next_reference",
    "note_facts",
    "obstacle",
    "on_hand",
    "open_operation",
    "post",
    "post_held",
    "put_in_place",
    "refuse_used",
    "reverse",
    "reverse_all",
    "save_place",
    "set_lot_status",
    "shed",
    "shed_in_store",
    "strain_out",
    "take_shed_back",
    "undo_release",
    "void_lots",
    "withdraw",
]
