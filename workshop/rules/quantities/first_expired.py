"""Which lots to draw on: what runs out first goes first."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Generic, TypeVar

from workshop.rules.errors import RuleError

Key = TypeVar("Key", int, str)


@dataclass(frozen=True)
class LotOnOffer(Generic[Key]):
    """A lot that may be drawn on; `on_hand` in the item's unit, `best_before` if it has one."""

    key: Key
    on_hand: Decimal
    best_before: date | None = None


def draw_lots(
    need: Decimal, lots: Iterable[LotOnOffer[Key]]
) -> tuple[list[tuple[Key, Decimal]], Decimal]:
    """Return which lots to draw on and how much of each, and what is short.

    First expired first out: the earliest best before goes first, lots without a date go last,
    ties go by key. Lots with nothing on hand are passed over.

    Units: `need` and `on_hand` in the item's unit (g or pieces).
    Error: none; what is drawn and what is short add up to `need`.
    Source: first expired first out, common practice, no source.
    Raises: RuleError when the need is below zero.

    >>> old, new = LotOnOffer("B", Decimal(3), date(2027, 1, 1)), LotOnOffer("A", Decimal(9))
    >>> draw_lots(Decimal(5), [new, old])
    ([('B', Decimal('3')), ('A', Decimal('2'))], Decimal('0'))
    """
    if need < 0:
        raise RuleError("The quantity needed cannot be below zero.")
    drawn: list[tuple[Key, Decimal]] = []
    short = need
    for lot in sorted(lots, key=_expiry_order):
        take = min(short, lot.on_hand)
        if take > 0:
            drawn.append((lot.key, take))
            short -= take
    return drawn, short


def _expiry_order(lot: LotOnOffer[Key]) -> tuple[date, bool, Key]:
    return lot.best_before or date.max, lot.best_before is None, lot.key
