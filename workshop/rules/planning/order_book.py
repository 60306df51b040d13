"""What is still open of orders, given by customers or to suppliers, once goods have moved."""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal


@dataclass(frozen=True)
class Wanted:
    """One line of an order: `party` and `thing` say of whom and what, `number` which order."""

    key: Hashable
    party: int
    thing: int
    number: str
    ordered_on: date
    due_on: date
    amount: Decimal


@dataclass(frozen=True)
class Moved:
    """What went to, or came from, a party; `number` is the order that its papers name, if any."""

    party: int
    thing: int
    number: str
    on: date
    amount: Decimal


def still_open(wanted: Sequence[Wanted], moved: Iterable[Moved]) -> dict[Hashable, Decimal]:
    """Return how much of each line is still to come, never below nought.

    What moved under the number of an order counts for that order. The rest counts for the party's
    orders of the same thing, those due earliest first, if they were given by that day; what moved
    before an order was given never counts for it.

    Units: as the lines. Error: none. Source: common practice, no source.

    >>> day = date(2026, 1, 5)
    >>> lines = [Wanted("a", 1, 7, "W-1", day, day, Decimal(5)),
    ...     Wanted("b", 1, 7, "W-2", day, day, Decimal(4))]
    >>> still_open(lines, [Moved(1, 7, "W-2", day, Decimal(4)), Moved(1, 7, "", day, Decimal(2))])
    {'a': Decimal('3'), 'b': Decimal('0')}
    """
    left = {line.key: line.amount for line in wanted}
    by_thing: dict[tuple[int, int], list[Wanted]] = defaultdict(list)
    numbers = set()
    for line in sorted(wanted, key=lambda each: (each.due_on, each.ordered_on, each.number)):
        by_thing[line.party, line.thing].append(line)
        numbers.add((line.party, _plain(line.number)))
    for move in sorted(moved, key=lambda each: each.on):
        named = (move.party, _plain(move.number)) in numbers and bool(move.number)
        rest = move.amount
        for line in by_thing[move.party, move.thing]:
            if named and _plain(line.number) != _plain(move.number):
                continue
            if not named and line.ordered_on > move.on:
                continue
            taken = min(rest, left[line.key])
            left[line.key] -= taken
            rest -= taken
    return left


def _plain(number: str) -> str:
    return "".join(number.split()).casefold()
