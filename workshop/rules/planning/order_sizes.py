"""Which weeks' needs to order together: by a rule of thumb, and the cheapest there is."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import Exact


@dataclass(frozen=True)
class Orders:
    """What to order in each period, and what ordering and holding come to."""

    amounts: tuple[Fraction, ...]
    cost: Fraction


def least_cost_a_period(needs: Sequence[Exact], order_cost: Exact, holding: Exact) -> Orders:
    """Order for as many periods ahead as makes the cost of an average period smallest.

    From each order on one looks further ahead as long as the mean cost a period falls.

    Units: needs in one unit; money an order; money a unit held for a period.
    Error: none in the sum; the plan may cost more than the cheapest.
    Source: Silver and Meal (1973), from memory. Raises: RuleError for needs below zero.

    >>> plan = least_cost_a_period([10, 62, 12, 130], 54, Fraction(2, 5))
    >>> [int(amount) for amount in plan.amounts]
    [84, 0, 0, 130]
    """
    exact = _exact(needs)
    amounts = [Fraction()] * len(exact)
    start = 0
    while start < len(exact):
        if not exact[start]:
            start += 1
            continue
        end = _reach(exact, start, Fraction(order_cost), Fraction(holding))
        amounts[start] = sum(exact[start:end], Fraction())
        start = end
    return Orders(tuple(amounts), cost_of(amounts, exact, [order_cost] * len(exact), holding))


def _reach(needs: list[Fraction], start: int, order_cost: Fraction, holding: Fraction) -> int:
    """The first period that the order does not cover any more."""
    held, best = Fraction(), order_cost
    for end in range(start + 1, len(needs)):
        held += holding * (end - start) * needs[end]
        mean = (order_cost + held) / (end - start + 1)
        if mean > best:
            return end
        best = mean
    return len(needs)


def cheapest_orders(needs: Sequence[Exact], order_costs: Sequence[Exact], holding: Exact) -> Orders:
    """Return the orders that cost least of all, period by period.

    An order covers whole periods up to the next order: the cheapest plan is one of these.

    Units: as `least_cost_a_period`, an order's cost for each period. Error: none.
    Source: Wagner and Whitin (1958), from memory. Raises: RuleError for needs below zero.

    >>> plan = cheapest_orders([3, 2, 3, 2], [2] * 4, Fraction(1, 5))
    >>> [int(amount) for amount in plan.amounts], plan.cost
    ([5, 0, 5, 0], Fraction(24, 5))
    """
    exact = _exact(needs)
    best: list[tuple[Fraction, int]] = [(Fraction(), 0)]
    for end in range(1, len(exact) + 1):
        held, options = Fraction(), []
        for start in range(end - 1, -1, -1):
            # Begun a week earlier, all that the later weeks need is held a week longer.
            held += Fraction(holding) * sum(exact[start + 1 : end], Fraction())
            wanted = any(exact[start:end])
            price = Fraction(order_costs[start]) if wanted else Fraction()
            options.append((best[start][0] + price + held, -start))
        cost, later = min(options)  # of two that cost the same, the one that holds less
        best.append((cost, -later))
    amounts = [Fraction()] * len(exact)
    end = len(exact)
    while end:
        start = best[end][1]
        amounts[start] = sum(exact[start:end], Fraction())
        end = start
    return Orders(tuple(amounts), best[-1][0])


def cost_of(
    amounts: Sequence[Exact], needs: Sequence[Exact], order_costs: Sequence[Exact], holding: Exact
) -> Fraction:
    """Return what a plan costs: its orders, and what is held at the end of each period.

    Units, source: as `cheapest_orders`. Error: none. Raises: RuleError where a need is not met.

    >>> cost_of([5, 0], [3, 2], [2, 2], Fraction(1, 5))
    Fraction(12, 5)
    """
    stock, cost = Fraction(), Fraction()
    for amount, need, price in zip(amounts, needs, order_costs, strict=True):
        stock += Fraction(amount) - Fraction(need)
        if stock < 0:
            raise RuleError("These orders leave a need unmet.")
        cost += Fraction(holding) * stock + (Fraction(price) if amount else 0)
    return cost


def _exact(needs: Sequence[Exact]) -> list[Fraction]:
    exact = [Fraction(need) for need in needs]
    if any(need < 0 for need in exact):
        raise RuleError("A need is not below zero.")
    return exact
