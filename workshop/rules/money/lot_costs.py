"""What each lot cost by the very lots that went into it, at any depth, exactly."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from graphlib import CycleError, TopologicalSorter
from typing import NamedTuple

from workshop.rules.errors import RuleError


class UnitCost(NamedTuple):
    """The cost of one unit of a lot: a gram or a piece. `is_whole` where no price was missing."""

    amount: Fraction
    is_whole: bool


@dataclass(frozen=True)
class Making:
    """One operation that made lots of others: quantities by lot, each in the lot's own unit.

    `added` is labour and overhead in the currency; `spilled` is what left beyond the usual, in
    the unit of what was made; `is_over` when nothing more will come of it.
    """

    taken: Mapping[int, Fraction]
    made: Mapping[int, Fraction]
    added: Fraction = field(default_factory=Fraction)
    is_added_known: bool = True
    spilled: Fraction = field(default_factory=Fraction)
    is_over: bool = True

    # What is lost as usual is borne by what was made (IAS 2.16), so only `spilled` is told apart.
    @property
    def share_made(self) -> Fraction:
        """The share of its cost that what it made bears; the rest is a loss of its own."""
        made = sum(self.made.values(), Fraction())
        whole = made + self.spilled
        return made / whole if whole else Fraction()

    def cost(self, costs: Mapping[int, UnitCost]) -> UnitCost:
        """All that it took and what was added, whole if every price in it was known."""
        inputs = [(costs[lot], quantity) for lot, quantity in self.taken.items() if quantity]
        amount = sum((cost.amount * quantity for cost, quantity in inputs), self.added)
        whole = self.is_added_known and all(cost.is_whole for cost, _ in inputs)
        return UnitCost(Fraction(amount), whole)

    def loss(self, costs: Mapping[int, UnitCost]) -> Fraction:
        """What is written off: what was spilled, or all of it where it was stopped."""
        return self.cost(costs).amount * (1 - self.share_made) if self.is_over else Fraction()


def lot_costs(
    bought: Mapping[int, Fraction | None], makings: Iterable[Making]
) -> dict[int, UnitCost]:
    """Return the cost of one unit of every lot.

    `bought` has the unit cost of each lot that came in, None where no price is known: it counts
    for nothing, and all that is made of it costs "at least" so much. A lot made by several
    operations bears the cost of all of them. What one operation made in several lots shares its
    cost by quantity.

    Units: the currency per unit of the lot. Error: none. Source: IAS 2.23, specific
    identification of individual costs. Raises: RuleError where a lot is made of itself.
    """
    by_product = _by_product(makings)
    order = _sources_first(by_product)
    costs = {
        lot: UnitCost(Fraction(amount or 0), amount is not None) for lot, amount in bought.items()
    }
    for lot in order:
        if lot in by_product:
            costs[lot] = made_cost(lot, by_product[lot], costs)
        else:
            costs.setdefault(lot, UnitCost(Fraction(), is_whole=False))
    return costs


def made_cost(lot: int, made_by: Iterable[Making], costs: Mapping[int, UnitCost]) -> UnitCost:
    """Return the cost of one unit of a lot from the makings that it came out of.

    Units: the currency per unit of the lot. Error: none. Source: as `lot_costs`.
    Raises: KeyError for something taken whose cost is not among `costs`.

    >>> making = Making({1: Fraction(80)}, {2: Fraction(40)}, added=Fraction(10))
    >>> made_cost(2, [making], {1: UnitCost(Fraction(1), is_whole=True)}).amount
    Fraction(9, 4)
    """
    amount = quantity = Fraction()
    whole = True
    for making in made_by:
        cost = making.cost(costs)
        share = making.made[lot] / sum(making.made.values(), Fraction()) * making.share_made
        amount += cost.amount * share
        quantity += making.made[lot]
        whole &= cost.is_whole
    return UnitCost(amount / quantity, whole)


# What work and overhead are called among the lots that a cost comes from.
WORK = 0


def cost_parts(
    costs: Mapping[int, UnitCost], makings: Iterable[Making]
) -> dict[int, dict[int, Fraction]]:
    """Return, of every lot made or bought, what one unit costs by the bought lots behind it.

    Work and overhead of all that was made on the way stand under `WORK`. The parts of a lot add up
    to its cost.

    Units: as `lot_costs`, whose answer `costs` is. Error: none. Source: as `lot_costs`.
    Raises: RuleError where a lot is made of itself.

    >>> making = Making({1: Fraction(80)}, {2: Fraction(40)}, added=Fraction(10))
    >>> one = {1: UnitCost(Fraction(1), is_whole=True), 2: UnitCost(Fraction(9, 4), is_whole=True)}
    >>> {source: str(amount) for source, amount in cost_parts(one, [making])[2].items()}
    {0: '1/4', 1: '2'}
    """
    by_product = _by_product(makings)
    parts = {lot: {lot: cost.amount} for lot, cost in costs.items() if lot not in by_product}
    for lot in _sources_first(by_product):
        if lot in by_product:
            parts[lot] = _parts_of(lot, by_product[lot], parts)
    return parts


def _parts_of(
    lot: int, made_by: Iterable[Making], parts: Mapping[int, Mapping[int, Fraction]]
) -> dict[int, Fraction]:
    found: dict[int, Fraction] = {}
    quantity = Fraction()
    for making in made_by:
        share = making.made[lot] / sum(making.made.values(), Fraction()) * making.share_made
        found[WORK] = found.get(WORK, Fraction()) + making.added * share
        for taken, amount in making.taken.items():
            for source, each in parts.get(taken, {}).items():
                found[source] = found.get(source, Fraction()) + each * amount * share
        quantity += making.made[lot]
    return {source: amount / quantity for source, amount in sorted(found.items()) if amount}


def _by_product(makings: Iterable[Making]) -> dict[int, list[Making]]:
    """The makings that each lot came out of."""
    found: dict[int, list[Making]] = {}
    for making in makings:
        for lot, quantity in making.made.items():
            if quantity:
                found.setdefault(lot, []).append(making)
    return found


def _sources_first(by_product: Mapping[int, Iterable[Making]]) -> list[int]:
    sources = {
        lot: {taken for making in made_by for taken in making.taken}
        for lot, made_by in by_product.items()
    }
    try:
        return list(TopologicalSorter(sources).static_order())
    except CycleError as error:
        raise RuleError("A lot is made of itself; its cost cannot be determined.") from error
