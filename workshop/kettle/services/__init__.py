"""What can happen at the kettle, in the order it happens."""

from workshop.kettle.services.batch_decisions import (
    abandon_batch,
    amend_batch,
    close_batch,
    hold_batch,
    reject_batch,
    release_batch,
)
from workshop.kettle.services.change_targets import adjust, mend, said_of, set_proportion
from workshop.kettle.services.in_process_checks import add_check
from workshop.kettle.services.losses_from_batch import say_left, take_left_back
from workshop.kettle.services.photos_and_timers import add_photo, end_timer, start_timer
from workshop.kettle.services.plan_batch import plan_batch
from workshop.kettle.services.pour_and_yield import correct_yield, pour
from workshop.kettle.services.record_weighing import add_unplanned, record_weighing, undo_reading
from workshop.kettle.services.split_batch import split_off
from workshop.kettle.weighing.lot_selection import proposals

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
    "say_left",
    "set_proportion",
    "split_off",
    "start_timer",
    "take_left_back",
    "undo_reading",
]
