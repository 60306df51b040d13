"""A hundred random lots of a history with remelts, returns and corrections, against networkx."""

from decimal import Decimal
from fractions import Fraction
from random import Random
from typing import Any

import networkx as nx
import pytest
from django.db import transaction
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from tests import make
from tests.dispatch import build as dispatch
from tests.trace import build
from workshop.core.errors import ActionRefused
from workshop.ledger import services as ledger
from workshop.ledger.lot_tree import links_back, links_both_ways, links_forward
from workshop.ledger.models import TRANSFORMING, ItemKind, Lot, Operation, Posting, Side, Unit
from workshop.ledger.stock_queries import balance, whole_ledger
from workshop.trace.lot.query import trace
from workshop.trace.lot.result import Trace

pytestmark = pytest.mark.django_db
few = settings(max_examples=12, suppress_health_check=list(HealthCheck))


def amounts_from(graph: Any, plan: build.Plan, start: int) -> dict[int, Fraction]:
    """How much of `start` is in every lot after it: one pass in the order that networkx gives."""
    amounts = {start: Fraction(1)}
    for lot in nx.topological_sort(graph.subgraph(nx.descendants(graph, start) | {start})):
        for _, taker, taken in graph.out_edges(lot, data="taken"):
            whole = Fraction(1) if lot == start else plan.whole[lot]
            share = taken * plan.part[taker] * amounts[lot] / whole
            amounts[taker] = amounts.get(taker, Fraction()) + share
    del amounts[start]
    return amounts


def found_inside(found: Trace) -> dict[int, Decimal]:
    return {made.lot.pk: made.inside for made in found.products}


def to_the_milligram(amounts: dict[int, Fraction]) -> dict[int, Decimal]:
    return {lot: Decimal(round(amount * 1000)) / 1000 for lot, amount in amounts.items()}


def test_hundred_random_lots_hold_what_networkx_and_exact_fractions_say() -> None:
    draw = Random(20261125)
    plan = build.random_history(draw, runs=130)
    chosen = draw.sample(plan.lots, 100)

    for lot in chosen:
        expected = amounts_from(plan.graph, plan, lot.pk)
        found = trace(lot)
        assert dict(found.forward.of) == expected
        assert found_inside(found) == to_the_milligram(expected)
        behind = nx.ancestors(plan.graph, lot.pk)
        assert {source.lot.pk for source in (*found.bought, *found.made_here)} == behind


def test_hundred_random_lots_have_shares_that_add_up_to_one() -> None:
    draw = Random(7)
    plan = build.random_history(draw, runs=130)
    bulks = [lot for lot in plan.lots if lot.item.kind == ItemKind.BULK]

    for lot in draw.choices(bulks, k=100):
        found = trace(lot)
        bought = [found.back.of[source.lot.pk] for source in found.bought]
        in_grams = [
            found.back.of[source.lot.pk]
            for source in found.bought
            if source.lot.item.unit == Unit.GRAM
        ]
        assert bought == in_grams
        assert sum((amount / plan.whole[lot.pk] for amount in bought), Fraction()) == 1


@few
@given(st.randoms(use_true_random=False))
def test_grams_that_left_in_dispatches_are_those_in_the_units_sent(draw: Random) -> None:
    """Of each source, in what was sent: exact shares of the lots packed."""
    with transaction.atomic():
        plan = build.random_history(draw)
        sent = send_some(plan, draw)
        for source in plan.lots[:5]:
            found = trace(source)
            for one in found.sendings:
                share = plan.amount(source.pk, one.lot.pk) / plan.whole[one.lot.pk]
                exact = share * Fraction(one.units)
                assert one.inside == Decimal(round(exact * 1000)) / 1000
                assert (one.units, one.back) == sent[one.dispatch.pk]
        transaction.set_rollback(True)


def send_some(plan: build.Plan, draw: Random) -> dict[int, tuple[Decimal, Decimal]]:
    """Dispatch some of every lot in pieces; of some of it a part comes back."""
    sent = {}
    for number, lot in enumerate(plan.lots):
        if lot.item.kind != ItemKind.PRODUCT:
            continue
        units = draw.randint(1, int(balance(lot).on_hand))
        gone = dispatch.sent((lot, units), to=dispatch.customer(f"Shop {number}"))
        back = draw.randint(0, units)
        if back:
            dispatch.back(gone, (lot, back))
        sent[gone.pk] = Decimal(units), Decimal(back)
    return sent


@few
@given(st.randoms(use_true_random=False))
def test_back_and_forward_are_inverse_relations_returns_and_all(draw: Random) -> None:
    with transaction.atomic():
        plan = build.random_history(draw)
        send_some(plan, draw)
        back, forward = set(), set()
        for lot in plan.lots:
            found = trace(lot)
            back |= {(source.lot.pk, lot.pk) for source in (*found.bought, *found.made_here)}
            forward |= {(lot.pk, made.lot.pk) for made in found.products}
        assert back == forward
        transaction.set_rollback(True)


@few
@given(st.randoms(use_true_random=False))
def test_walking_both_ways_at_once_is_walking_each(draw: Random) -> None:
    with transaction.atomic():
        plan = build.random_history(draw)
        for lot in plan.lots:
            assert links_both_ways(lot.pk) == (links_back([lot.pk]), links_forward([lot.pk]))
        transaction.set_rollback(True)


@few
@given(st.randoms(use_true_random=False))
def test_posting_taken_back_after_the_batch_leaves_no_link(draw: Random) -> None:
    with transaction.atomic():
        plan = build.random_history(draw)
        links = [link for lot in plan.lots for link in links_back([lot.pk])]
        link = draw.choice(links)
        posting = Posting.objects.select_related("operation").get(pk=link.taken_posting_id)
        by = posting.by
        ledger.amend_operation(posting.operation, by=by, at=make.NOON, reason="wrong tag")
        # Something else went in, so that the yield stays possible.
        instead = make.lot(posting.lot.item, by=by, on_hand=2000)
        ledger.post(posting.operation, instead, Side.IN, posting.moved, by=by, at=make.NOON)
        ledger.reverse(posting, by=by, at=make.NOON, reason="wrong tag")

        forward = links_forward([posting.lot_id])
        back = links_back([link.product_id])
        assert posting.pk not in {one.taken_posting_id for one in (*forward, *back)}
        assert instead.pk in {one.source_id for one in back}
        found = trace(instead)
        assert link.product_id in {made.lot.pk for made in found.products}
        transaction.set_rollback(True)


@few
@given(st.randoms(use_true_random=False))
def test_whole_ledger_in_one_pass_holds_what_each_lot_holds(draw: Random) -> None:
    with transaction.atomic():
        plan = build.random_history(draw)
        send_some(plan, draw)
        each = {lot.pk: int(balance(lot).on_hand * 1000) for lot in Lot.objects.all()}
        assert whole_ledger() == each
        transaction.set_rollback(True)


@few
@given(st.randoms(use_true_random=False))
def test_loop_is_refused_at_entry(draw: Random) -> None:
    """No lot goes into the batch or run that made what it was made from."""
    with transaction.atomic():
        plan = build.random_history(draw, runs=10)
        origins = {lot.pk: lot.origin for lot in plan.lots}
        made_here = [edge for edge in plan.graph.edges if origins[edge[0]].kind in TRANSFORMING]
        assume(made_here)
        source, product = draw.choice(made_here)
        later = draw.choice([product, *nx.descendants(plan.graph, product)])
        by, lot = make.user(), Lot.objects.select_related("item").get(pk=later)
        ledger.amend_operation(origins[source], by=by, at=make.NOON, reason="one more line")
        before = Posting.objects.count()
        opened = Operation.objects.get(pk=origins[source].pk)
        with pytest.raises(ActionRefused):
            ledger.post(opened, lot, Side.IN, Decimal(1), by=by, at=make.NOON)
        assert Posting.objects.count() == before
        transaction.set_rollback(True)
