"""What can happen at the kettle, in the order it happens."""

from workshop.kettle.lots import proposals
from workshop.kettle.services.checking import add_check
from workshop.kettle.services.closing import (
    abandon_batch,
    amend_batch,
    close_batch,
    hold_batch,
    reject_batch,
    release_batch,
)
from workshop.kettle.services.planning import plan_batch
from workshop.kettle.services.pouring import correct_yield, pour
from workshop.kettle.services.weighing import add_unplanned, record_weighing, undo_weighing

__all__ = [
    "abandon_batch",
    "add_check",
    "add_unplanned",
    "amend_batch",
    "close_batch",
    "correct_yield",
    "hold_batch",
    "plan_batch",
    "pour",
    "proposals",
    "record_weighing",
    "reject_batch",
    "release_batch",
    "undo_weighing",
]
