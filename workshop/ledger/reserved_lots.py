"""What of a lot is kept for something planned, as the rooms below the ledger say.

A room that keeps lots names a function `kept_of` in its own `reserved_lots.py`.
"""

from collections.abc import Collection
from decimal import Decimal
from typing import NamedTuple

from workshop.core.database.room_modules import said_by_rooms


class Kept(NamedTuple):
    """So much of a lot is meant for something planned, by its reference."""

    lot: int
    reference: str
    quantity: Decimal


def kept_for(lots: Collection[int], *, but_for: str = "") -> dict[int, list[Kept]]:
    """What of these lots is kept for something other than `but_for`."""
    found: dict[int, list[Kept]] = {}
    for kept_of in said_by_rooms("reserved_lots", "kept_of"):
        for one in kept_of(lots):
            if one.reference != but_for:
                found.setdefault(one.lot, []).append(one)
    return found
