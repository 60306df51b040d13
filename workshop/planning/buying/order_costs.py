"""How much of an item to order at a time, by what an order costs and what holding stock costs."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from workshop.costs.values.lot_values import values_of
from workshop.ledger.models import Item, Lot
from workshop.planning.buying.needs import Need
from workshop.rules.planning.order_sizes import cheapest_orders, cost_of, least_cost_a_period
from workshop.rules.planning.replenishment import economic_amount, order_amount

LATEST = 5
A_YEAR = 365


@dataclass(frozen=True)
class Way:
    """One way to order what the weeks ahead need."""

    name: str
    amounts: Sequence[Fraction]
    cost: Fraction

    @property
    def orders(self) -> int:
        return sum(amount > 0 for amount in self.amounts)

    @property
    def first(self) -> Fraction:
        return next((amount for amount in self.amounts if amount), Fraction())


@dataclass(frozen=True)
class OrderCosts:
    """The amount that is cheapest at an even pace, in whole packs, and ways for these weeks."""

    per_year: Fraction
    unit_cost: Fraction
    economic: Fraction
    yearly: Fraction
    ways: Sequence[Way]
    weeks: int

    @property
    def lasts_days(self) -> int:
        return round(A_YEAR * self.economic / self.per_year)


def order_costs(need: Need) -> OrderCosts | None:
    """None where something is missing: what it costs, what an order or holding it costs, a use."""
    terms, plan = need.terms, need.plan
    if not (terms and terms.order_cost and terms.holding_percent and plan):
        return None
    unit_cost = latest_cost(need.item)
    per_year = sum((week.gross for week in plan.weeks), Fraction())
    per_year *= Fraction(A_YEAR, 7 * len(plan.weeks))
    if not unit_cost or not per_year:
        return None
    each = Fraction(terms.order_cost)
    holding = unit_cost * Fraction(terms.holding_percent) / 100
    best = Fraction(economic_amount(per_year, each, holding))
    economic = order_amount(best, pack=terms.pack_size, least=terms.order_least)
    return OrderCosts(
        per_year,
        unit_cost,
        economic,
        per_year / economic * each + economic / 2 * holding,
        _ways(need, each, holding * Fraction(7, A_YEAR)),
        len(plan.weeks),
    )


def latest_cost(item: Item) -> Fraction | None:
    """What a gram or a piece of the latest priced lot cost."""
    lots = Lot.objects.filter(item=item).order_by("-made_on", "-pk")[:LATEST]
    keys = [lot.pk for lot in lots]
    values = values_of(keys)
    whole = (values.of(key) for key in keys)
    return next((one.amount for one in whole if one.is_whole and one.amount), None)


def _ways(need: Need, each: Fraction, holding: Fraction) -> list[Way]:
    """As is proposed, and by three rules without a regard to packs; money for the weeks ahead."""
    assert need.plan is not None  # noqa: S101  asked by the caller
    net = [week.net for week in need.plan.weeks]
    prices = [each] * len(net)
    proposed = [Fraction()] * len(net)
    for lot in need.lots:
        proposed[(lot.needed_on - need.today).days // 7] += lot.amount
    rule, cheapest = least_cost_a_period(net, each, holding), cheapest_orders(net, prices, holding)
    return [
        Way("as proposed above", proposed, cost_of(proposed, net, prices, holding)),
        Way("every week by itself", net, cost_of(net, net, prices, holding)),
        Way("as far ahead as makes a week cheapest", rule.amounts, rule.cost),
        Way("the cheapest there is", cheapest.amounts, cheapest.cost),
    ]
