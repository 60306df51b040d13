"""Best-before dates down a family tree: nothing keeps longer than what went into it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from graphlib import CycleError, TopologicalSorter

from workshop.rules.errors import RuleError


@dataclass(frozen=True)
class MadeLot:
    """A lot made here: when, how long it would keep by itself, and the keys of what went in."""

    made_on: date
    own: date | None
    sources: frozenset[int]


def tree_dates(
    made: Mapping[int, MadeLot], bought: Mapping[int, date | None]
) -> dict[int, date | None]:
    """Return the date of each lot of `made`, from its own limit and the dates of what went in.

    `bought` are the dates of what `made` does not work out; None is no limit. A lot that was made
    from something already past its date has the day it was made: it was never good for longer.

    Units: keys of lots. Error: none. Source: common practice, no source.
    Raises: RuleError when a lot is made from itself, KeyError for a source in neither.

    >>> day = date(2026, 11, 25)
    >>> salve = MadeLot(day, date(2027, 11, 25), frozenset({1, 2}))
    >>> tin = MadeLot(day, None, frozenset({3}))
    >>> tree_dates({3: salve, 4: tin}, {1: date(2027, 3, 15), 2: None})
    {3: datetime.date(2027, 3, 15), 4: datetime.date(2027, 3, 15)}
    """
    found: dict[int, date | None] = {}
    for key in _sources_first(made):
        lot = made[key]
        dates = [found[one] if one in found else bought[one] for one in lot.sources]
        earliest = min((day for day in (lot.own, *dates) if day is not None), default=None)
        found[key] = earliest and max(earliest, lot.made_on)
    return found


def _sources_first(made: Mapping[int, MadeLot]) -> list[int]:
    graph = {key: lot.sources & made.keys() for key, lot in made.items()}
    try:
        return list(TopologicalSorter(graph).static_order())
    except CycleError as error:
        raise RuleError("A lot is made from itself, so it has no date that follows.") from error
