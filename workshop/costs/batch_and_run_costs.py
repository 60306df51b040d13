"""What one batch or packing run cost, line by line, and what the lots of a product did."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from workshop.costs.models import SalesPrice
from workshop.costs.values.lot_values import values_in, values_of
from workshop.ledger.models import Item, ItemKind, Lot, Operation, Posting
from workshop.rules.money.amounts import margin_percent
from workshop.rules.money.cost_flow import Flow, Move, first_in_first_out, moving_average
from workshop.rules.money.lot_costs import Making, UnitCost


@dataclass(frozen=True)
class Taken:
    """What an operation took of one lot, in grams or pieces, and what that cost."""

    lot: Lot
    quantity: Decimal
    cost: UnitCost
    value: Fraction


@dataclass(frozen=True)
class CostSheet:
    """An operation's cost: what it took, work and overhead, what is written off, what it made."""

    taken: list[Taken]
    added: Fraction
    total: UnitCost
    written_off: Fraction
    made: list[Taken]


def sheet_of(operation: Operation) -> CostSheet:
    """The cost of a batch or a packing run, by the very lots that went into it."""
    values = values_in(operation)
    making = values.makings.get(operation.pk, Making({}, {}))
    lots = Lot.objects.select_related("item").in_bulk([*making.taken, *making.made])

    def row(lot: int, quantity: Fraction) -> Taken:
        cost = values.of(lot)
        shown = Decimal(quantity.numerator) / Decimal(quantity.denominator)
        return Taken(lots[lot], round(shown, 3), cost, cost.amount * quantity)

    return CostSheet(
        [row(lot, quantity) for lot, quantity in sorted(making.taken.items()) if quantity],
        making.added,
        making.cost({lot: values.of(lot) for lot in making.taken}),
        making.loss({lot: values.of(lot) for lot in making.taken}),
        [row(lot, quantity) for lot, quantity in sorted(making.made.items())],
    )


@dataclass(frozen=True)
class Margin:
    """A product's price in a channel beside the cost of a unit of its latest lot."""

    item: Item
    lot: Lot | None
    cost: UnitCost | None
    channel: str
    price: Decimal | None

    @property
    def percent(self) -> Fraction | None:
        if self.cost is None or self.price is None:
            return None
        return margin_percent(self.price, self.cost.amount)


def margins(on: date) -> list[Margin]:
    """Every product with its prices on a day; one row a channel, one row where there is none."""
    products = list(Item.objects.active().of_kind(ItemKind.PRODUCT))
    latest: dict[int, Lot] = {}
    for lot in Lot.objects.filter(item__in=products, made_on__lte=on).order_by("made_on", "pk"):
        latest[lot.item_id] = lot
    values = values_of({lot.pk for lot in latest.values()})
    prices = SalesPrice.objects.on(on)
    rows = []
    for item in products:
        last = latest.get(item.pk)
        cost = values.of(last.pk) if last else None
        of_it = [(channel, row.price) for (key, channel), row in prices.items() if key == item.pk]
        rows += [
            Margin(item, last, cost, channel, price) for channel, price in of_it or [("", None)]
        ]
    return rows


@dataclass(frozen=True)
class ThreeWays:
    """What was taken of a bought item and what is left, valued by each permitted formula."""

    by_lot: Flow
    oldest_first: Flow
    average: Flow


def three_ways(item: Item) -> ThreeWays:
    """The item's movements in the order of time; its lots' own costs are what came in.

    Raises RuleError where the book went below nought.
    """
    values = values_of(set(Lot.objects.filter(item=item).values_list("pk", flat=True)))
    moves, by_lot = [], Fraction()
    rows = Posting.objects.filter(lot__item=item).order_by("at", "pk")
    for lot, quantity in rows.values_list("lot", "quantity"):
        value = Fraction(quantity) * values.of(lot).amount
        by_lot -= min(value, Fraction())
        moves.append(Move(came_in=quantity, value=value) if quantity > 0 else Move(taken=-quantity))
    left = sum((Fraction(move.value) for move in moves), Fraction()) - by_lot
    return ThreeWays(Flow(by_lot, left), first_in_first_out(moves), moving_average(moves))
