"""Builders for traces: batches and packing runs posted straight into the ledger."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction
from random import Random

import networkx as nx

from tests import make
from workshop.core.models import User
from workshop.ledger import services as ledger
from workshop.ledger.models import Item, ItemKind, Lot, Operation, OperationKind, Side, Status

Amount = Decimal | int | str


def run(
    kind: OperationKind,
    inputs: Sequence[tuple[Lot, Amount]],
    outputs: Sequence[tuple[Item, Amount]],
    *,
    by: User,
    wrong: Sequence[tuple[Lot, Amount]] = (),
    made_on: date = make.DAY,
) -> list[Lot]:
    """One closed operation; what is in `wrong` was posted by mistake and taken back."""
    operation = ledger.open_operation(kind, by=by, at=make.NOON)
    for lot, amount in wrong:
        mistake = ledger.post(operation, lot, Side.IN, Decimal(amount), by=by, at=make.NOON)
        ledger.reverse(mistake, by=by, at=make.NOON, reason="Read the wrong tag")
    for lot, amount in inputs:
        ledger.post(operation, lot, Side.IN, Decimal(amount), by=by, at=make.NOON)
    made = [_out(operation, item, Decimal(amount), by, made_on) for item, amount in outputs]
    ledger.close_operation(operation, by=by, at=make.NOON)
    return made


def _out(operation: Operation, item: Item, amount: Decimal, by: User, made_on: date) -> Lot:
    lot = ledger.create_lot(
        item, origin=operation, made_on=made_on, best_before=None, by=by, at=make.NOON
    )
    ledger.post(operation, lot, Side.OUT, amount, by=by, at=make.NOON)
    return ledger.set_lot_status(lot, Status.RELEASED, by=by, at=make.NOON)


def batch(*inputs: tuple[Lot, Amount], grams: Amount, name: str = "Hand salve") -> Lot:
    """A bulk lot of `grams`."""
    return run(OperationKind.BATCH, inputs, [(bulk(name), grams)], by=make.user())[0]


def bulk(name: str = "Hand salve") -> Item:
    return Item.objects.filter(kind=ItemKind.BULK, name=name).first() or make.item(
        ItemKind.BULK, name=name
    )


def product(name: str = "Hand salve 60 g") -> Item:
    return Item.objects.filter(kind=ItemKind.PRODUCT, name=name).first() or make.item(
        ItemKind.PRODUCT, name=name
    )


def packed(*inputs: tuple[Lot, Amount], units: int, made_on: date = make.DAY) -> Lot:
    """A finished lot of `units`."""
    return run(
        OperationKind.PACKING, inputs, [(product(), units)], by=make.user(), made_on=made_on
    )[0]


@dataclass
class Plan:
    """A random history, and what networkx needs to say who is in whom."""

    lots: list[Lot] = field(default_factory=list)
    graph: "nx.DiGraph[int]" = field(default_factory=nx.DiGraph)
    # A lot's part of its run, and of what a part of it is taken: grams weighed in, or pieces.
    part: dict[int, Fraction] = field(default_factory=dict)
    whole: dict[int, Fraction] = field(default_factory=dict)

    def amount(self, source: int, product: int) -> Fraction:
        """How much of `source` is in `product`: the sum over every path between them."""
        paths = nx.all_simple_paths(self.graph, source, product)
        return sum((self._along(path) for path in paths), Fraction())

    def _along(self, path: list[int]) -> Fraction:
        amount = Fraction(1)
        for place, (giver, taker) in enumerate(itertools.pairwise(path)):
            amount *= self.graph.edges[giver, taker]["taken"] * self.part[taker]
            if place:
                amount /= self.whole[giver]
        return amount


def random_history(draw: Random, *, runs: int = 7) -> Plan:
    """Bought lots, batches of up to four of them, some with two lots out, and packing runs."""
    by, plan = make.user(), Plan()
    oil, tin, salve, jar = (
        make.item(ItemKind.MATERIAL),
        make.item(ItemKind.PACKAGING),
        make.item(ItemKind.BULK),
        make.item(ItemKind.PRODUCT),
    )
    weighed = [make.lot(oil, by=by, on_hand=_grams(draw)) for _ in range(4)]
    tins = make.lot(tin, by=by, on_hand=500)
    plan.lots += [*weighed, tins]
    plan.graph.add_nodes_from(lot.pk for lot in plan.lots)
    for _ in range(runs):
        chosen = draw.sample(weighed, draw.randint(1, min(4, len(weighed))))
        inputs: list[tuple[Lot, Amount]] = [(lot, _grams(draw)) for lot in chosen]
        if draw.random() < 0.3:
            inputs.append((chosen[0], _grams(draw)))
        wrong = [(draw.choice(weighed), _grams(draw))] if draw.random() < 0.4 else []
        outputs: list[tuple[Item, Amount]] = [(salve, _grams(draw))]
        kind = OperationKind.BATCH
        if draw.random() < 0.3:
            kind, outputs = OperationKind.PACKING, [(jar, draw.randint(1, 90))]
            inputs.append((tins, draw.randint(1, 90)))
        elif draw.random() < 0.3:
            outputs.append((salve, _grams(draw)))
        made = run(kind, inputs, outputs, by=by, wrong=wrong)
        _note(plan, inputs, made, [Fraction(Decimal(amount)) for _, amount in outputs])
        plan.lots += made
        if kind == OperationKind.BATCH:
            weighed += made
    return plan


def _grams(draw: Random) -> Decimal:
    return Decimal(draw.randint(1, 900_000)).scaleb(-3)


def _note(
    plan: Plan, inputs: list[tuple[Lot, Amount]], made: list[Lot], out: list[Fraction]
) -> None:
    grams = sum(Fraction(Decimal(amount)) for lot, amount in inputs if lot.item.unit == "g")
    for lot, amount in zip(made, out, strict=True):
        plan.part[lot.pk] = amount / sum(out)
        plan.whole[lot.pk] = grams * plan.part[lot.pk] if lot.item.unit == "g" else Fraction(amount)
        for source, taken in inputs:
            known = plan.graph.get_edge_data(source.pk, lot.pk, {"taken": Fraction()})
            total = known["taken"] + Fraction(Decimal(taken))
            plan.graph.add_edge(source.pk, lot.pk, taken=total)
