"""What can happen to soap on its racks, and to the racks."""

from workshop.curing.services.drying import (
    LOSSES,
    RoundRow,
    add_test,
    lose,
    put_on_rack,
    said_of,
    take_weighing_back,
    weigh_round,
)
from workshop.curing.services.racks import move, save_place, save_rack

__all__ = [
    "LOSSES",
    "RoundRow",
    "add_test",
    "lose",
    "move",
    "put_on_rack",
    "said_of",
    "save_place",
    "save_rack",
    "take_weighing_back",
    "weigh_round",
]
