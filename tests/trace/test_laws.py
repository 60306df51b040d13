"""Traces of random histories, corrections included, against networkx and exact fractions."""

from fractions import Fraction
from random import Random

import networkx as nx
import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.trace import build
from workshop.ledger.models import ItemKind
from workshop.trace.lot.query import trace

pytestmark = pytest.mark.django_db
few = settings(max_examples=15, suppress_health_check=list(HealthCheck))


@few
@given(st.randoms(use_true_random=False))
def test_trace_finds_the_lots_and_amounts_that_networkx_finds(draw: Random) -> None:
    with transaction.atomic():
        plan = build.random_history(draw)
        for lot in plan.lots:
            found = trace(lot)

            behind = {source.lot.pk for source in (*found.bought, *found.made_here)}
            ahead = {made.lot.pk for made in found.products}
            assert behind == nx.ancestors(plan.graph, lot.pk)
            assert ahead == nx.descendants(plan.graph, lot.pk)
            assert dict(found.back.of) == {pk: plan.amount(pk, lot.pk) for pk in behind}
            assert dict(found.forward.of) == {pk: plan.amount(lot.pk, pk) for pk in ahead}
        transaction.set_rollback(True)


@few
@given(st.randoms(use_true_random=False))
def test_back_and_forward_are_each_others_inverse(draw: Random) -> None:
    with transaction.atomic():
        plan = build.random_history(draw)
        traces = {lot.pk: trace(lot) for lot in plan.lots}
        for pk, found in traces.items():
            for other, amount in found.forward.of.items():
                assert traces[other].back.of[pk] == amount
        transaction.set_rollback(True)


@few
@given(st.randoms(use_true_random=False))
def test_what_came_in_for_a_lot_adds_up_to_what_was_weighed_into_it(draw: Random) -> None:
    with transaction.atomic():
        plan = build.random_history(draw)
        for lot in plan.lots:
            if lot.item.kind != ItemKind.BULK:
                continue
            found = trace(lot)
            bought = [found.back.of[source.lot.pk] for source in found.bought]
            assert sum(bought, Fraction()) == plan.whole[lot.pk]
        transaction.set_rollback(True)
