"""What held on a day, when something is known in versions that each begin on a day."""

from collections.abc import Mapping
from datetime import date
from typing import TypeVar

Held = TypeVar("Held")


def in_force(versions: Mapping[date, Held], on: date) -> Held | None:
    """Return the version that held on a day: the last to begin by then, or None before the first.

    Units: days. Error: none. Source: common practice, no source. Raises: nothing.

    >>> blend = {date(2026, 1, 1): "old", date(2026, 6, 1): "new"}
    >>> in_force(blend, date(2026, 5, 31)), in_force(blend, date(2026, 6, 1))
    ('old', 'new')
    >>> in_force(blend, date(2025, 12, 31)) is None
    True
    """
    begun = [day for day in versions if day <= on]
    return versions[max(begun)] if begun else None
