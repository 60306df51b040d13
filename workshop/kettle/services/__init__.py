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
from workshop.kettle.services.keeping import add_photo, end_timer, start_timer
from workshop.kettle.services.mending import adjust, mend, said_of, set_proportion
from workshop.kettle.services.planning import plan_batch
from workshop.kettle.services.pouring import correct_yield, pour
from workshop.kettle.services.splitting import split_off
from workshop.kettle.services.weighing import add_unplanned, record_weighing, undo_weighing

__all__ = [
    "abandon_batch",
    "add_check",
    "add_photo",
    "add_unplanned",
    "adjust",
    "amend_batch",
    "close_batch",
    "correct_yield",
    "end_timer",
    "hold_batch",
    "mend",
    "plan_batch",
    "pour",
    "proposals",
    "record_weighing",
    "reject_batch",
    "release_batch",
    "said_of",
    "set_proportion",
    "split_off",
    "start_timer",
    "undo_weighing",
]
