"""From what is wanted by week to what must be ordered by week, through any depth of parts."""

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from graphlib import CycleError, TopologicalSorter
from typing import TypeVar

from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import Exact

Thing = TypeVar("Thing", bound=Hashable)
Size = Callable[[Fraction], Fraction]


def as_needed(need: Fraction) -> Fraction:
    """Order what is needed and no more.

    >>> as_needed(Fraction(3))
    Fraction(3, 1)
    """
    return need


@dataclass(frozen=True)
class Supply:
    """What there is of a thing, what is on its way by week, and how more of it comes."""

    on_hand: Fraction = Fraction()
    coming: Sequence[Fraction] = ()
    lead_weeks: int = 0
    least_stock: Fraction = Fraction()
    size: Size = as_needed


@dataclass(frozen=True)
class Week:
    """One week of one thing. `release` is what must be ordered or begun in it."""

    gross: Fraction
    coming: Fraction
    net: Fraction
    planned: Fraction
    on_hand: Fraction
    release: Fraction = Fraction()


@dataclass(frozen=True)
class Late:
    """What should have been ordered so many weeks ago to be there in its week."""

    week: int
    amount: Fraction
    weeks_late: int


@dataclass(frozen=True)
class Plan:
    """The weeks of one thing, and what is past due."""

    weeks: tuple[Week, ...]
    late: tuple[Late, ...] = ()


def net_requirements(gross: Sequence[Exact], supply: Supply) -> Plan:
    """Return what must come in each week, and what must be ordered or begun, and when.

    What must come sooner than it can is named as late: it is not moved to a later week in silence.

    Units: one unit throughout; weeks from the first of `gross`.
    Error: none. Source: gross to net, as in any text on material requirements planning.

    >>> plan = net_requirements([0, 0, 5], Supply(on_hand=Fraction(2), lead_weeks=1))
    >>> [int(week.release) for week in plan.weeks]
    [0, 3, 0]
    """
    stock = Fraction(supply.on_hand)
    rows: list[Week] = []
    for number, wanted in enumerate(gross):
        coming = Fraction(supply.coming[number]) if number < len(supply.coming) else Fraction()
        left = stock + coming - Fraction(wanted)
        net = max(supply.least_stock - left, Fraction())
        planned = supply.size(net) if net else Fraction()
        stock = left + planned
        rows.append(Week(Fraction(wanted), coming, net, planned, stock))
    return _released(rows, supply.lead_weeks)


def _released(rows: list[Week], lead: int) -> Plan:
    late = tuple(
        Late(number, row.planned, lead - number)
        for number, row in enumerate(rows[:lead])
        if row.planned
    )
    release = [row.planned for row in rows[lead:]] + [Fraction()] * min(lead, len(rows))
    weeks = tuple(
        Week(row.gross, row.coming, row.net, row.planned, row.on_hand, begun)
        for row, begun in zip(rows, release, strict=True)
    )
    return Plan(weeks, late)


def explode(
    wanted: Mapping[Thing, Sequence[Exact]],
    parts: Mapping[Thing, Mapping[Thing, Fraction]],
    supplies: Mapping[Thing, Supply],
    weeks: int,
) -> dict[Thing, Plan]:
    """Return the plan of everything: of what is wanted, of its parts, and of theirs.

    A part is wanted when the thing it goes into is begun. What is begun late wants its parts in
    the first week, at once. `parts` says how much of each part goes into one unit of a thing.

    Units: as `net_requirements`, each thing in its own. Error: none.
    Source: low-level coding, as in any text on material requirements planning.
    Raises: RuleError where a thing would be a part of itself.

    >>> plans = explode({"tin": [0, 4]}, {"tin": {"wax": Fraction(3)}}, {}, 2)
    >>> [int(week.gross) for week in plans["wax"].weeks]
    [0, 12]
    """
    gross: dict[Thing, list[Fraction]] = {}
    for thing, amounts in wanted.items():
        gross[thing] = [Fraction(amount) for amount in amounts]
    plans: dict[Thing, Plan] = {}
    for thing in from_the_top(parts, gross):
        plan = net_requirements(
            gross.get(thing, [Fraction()] * weeks), supplies.get(thing, Supply())
        )
        plans[thing] = plan
        begun = [week.release for week in plan.weeks]
        begun[0] += sum((each.amount for each in plan.late), Fraction())
        for part, share in parts.get(thing, {}).items():
            row = gross.setdefault(part, [Fraction()] * weeks)
            for number, amount in enumerate(begun):
                row[number] += share * amount
    return plans


def from_the_top(
    parts: Mapping[Thing, Mapping[Thing, Fraction]], wanted: Iterable[Thing]
) -> list[Thing]:
    """Return each thing before all that it is made of.

    Units: none. Error: none. Source: low-level coding. Raises: as `explode`.

    >>> from_the_top({"tin": {"salve": Fraction(60)}, "salve": {"wax": Fraction(1)}}, ["wax"])
    ['tin', 'salve', 'wax']
    """
    sorter: TopologicalSorter[Thing] = TopologicalSorter(dict.fromkeys(wanted, ()))
    for thing, row in parts.items():
        sorter.add(thing)
        for part in row:
            sorter.add(part, thing)
    try:
        return list(sorter.static_order())
    except CycleError as error:
        raise RuleError("Something is made of itself; a formula must be corrected.") from error
