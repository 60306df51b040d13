"""Random trees of lots: herbs strained out, bulks that dry, melts of melts; every gram adds up.

What the book says is held against networkx and exact fractions, put together from the story alone.
"""

from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from math import prod
from typing import Any, NamedTuple

import networkx as nx
import pytest
from django.db import transaction
from django.db.models import Sum
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests import make
from tests.goods_in import build as goods
from workshop.core.saving.new_tokens import new_token
from workshop.goods_in.lot_composition import compositions_of
from workshop.ledger import services as ledger
from workshop.ledger.lot_tree import descendants
from workshop.ledger.models import Lot, OperationKind, Posting, Shed, ShedKind, Side
from workshop.ledger.proof.checks import run_checks
from workshop.ledger.stock_queries import balances
from workshop.organic.balance.query import Period, sums
from workshop.rules.organic.mass_balance import MassBalance

pytestmark = pytest.mark.django_db
BOUGHT = 4
KG = 1_000_000  # milligrams


class Melt(NamedTuple):
    """Takes milligrams of earlier lots; of one in `strained` only an extract stays.

    Of a thousand parts of what is left after the marc, `poured` parts are poured and `film` parts
    of the rest are said to be left on the kettle.
    """

    taken: dict[int, int]
    strained: set[int]
    marc: int
    poured: int
    film: int


class Drying(NamedTuple):
    """A lot loses so many of a thousand parts of what there is of it."""

    lot: int
    parts: int


Story = list[Melt | Drying]


@st.composite
def stories(draw: st.DrawFn) -> Story:
    """Melts of bought lots and of earlier melts, and dryings in between."""
    story: Story = []
    lots = BOUGHT
    for _ in range(draw(st.integers(1, 6))):
        earlier = st.integers(0, lots - 1)
        taken = draw(st.dictionaries(earlier, st.integers(1, 300_000), min_size=1, max_size=4))
        strained = set(draw(st.lists(st.sampled_from(sorted(taken)), max_size=len(taken) - 1)))
        if len(strained) == len(taken):
            strained.pop()
        marc = draw(st.integers(0, sum(taken.values()) - 1))
        story.append(
            Melt(taken, strained, marc, draw(st.integers(1, 1000)), draw(st.integers(0, 1000)))
        )
        lots += 1
        if draw(st.booleans()):
            story.append(Drying(draw(st.integers(0, lots - 1)), draw(st.integers(0, 400))))
    return story


@dataclass
class Told:
    """The story as it was lived: the lots, and what was counted beside the book."""

    lots: list[Lot] = field(default_factory=list)
    held: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    made: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    used: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    dried: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    unexplained: dict[int, int] = field(default_factory=dict)
    tree: Any = field(default_factory=nx.DiGraph)


@contextmanager
def lived(story: Story) -> Iterator[Told]:
    """Act a story out through the services; nothing of it stays."""
    with transaction.atomic():
        told = Told()
        for _ in range(BOUGHT):
            told.lots.append(goods.lot(goods.material(), grams=10_000))
            told.held[len(told.lots) - 1] = 10 * KG
        told.tree.add_nodes_from(range(BOUGHT))
        for step in story:
            if isinstance(step, Melt):
                melt(told, step)
            else:
                dry(told, step)
        yield told
        transaction.set_rollback(True)


def g(milligrams: int) -> Decimal:
    return Decimal(milligrams).scaleb(-3)


def act(**more: Any) -> dict[str, Any]:
    return {"by": make.user(), "at": make.NOON, **more}


def melt(told: Told, step: Melt) -> None:
    batch, number = make.operation(OperationKind.BATCH), len(told.lots)
    for source, amount in step.taken.items():
        ledger.post(batch, told.lots[source], Side.IN, g(amount), **act())
        told.held[source] -= amount
        told.used[source] += amount
    marc = step.marc if step.strained else 0
    if step.strained:
        ledger.strain_out(
            batch, [told.lots[each] for each in sorted(step.strained)], g(marc),
            stays="Herb Extract", is_estimated=False, **act(token=new_token()),
        )  # fmt: skip
    left = sum(step.taken.values()) - marc
    poured = max(left * step.poured // 1000, 1)
    film = (left - poured) * step.film // 1000
    if film:
        ledger.shed(batch, ShedKind.FILM, g(film), **act())
    told.lots.append(make.bulk_of(batch))
    ledger.post(batch, told.lots[-1], Side.OUT, g(poured), **act())
    ledger.close_operation(batch, **act())
    told.held[number] = told.made[number] = poured
    told.unexplained[batch.pk] = left - poured - film
    stayed = sum(step.taken[each] for each in step.taken if each not in step.strained)
    told.tree.add_node(number)
    for source, amount in step.taken.items():
        if source not in step.strained:
            told.tree.add_edge(source, number, share=Fraction(amount, stayed))


def dry(told: Told, step: Drying) -> None:
    amount = told.held[step.lot] * step.parts // 1000
    if amount <= 0:
        return
    ledger.shed_in_store(told.lots[step.lot], ShedKind.DRIED, g(amount), **act(token=new_token()))
    told.held[step.lot] -= amount
    told.dried[step.lot] += amount


def share_of(told: Told, bought: int, made: int) -> Fraction:
    """Of a bought lot in a made one: over all ways through the tree, the shares multiplied."""
    ways = nx.all_simple_paths(told.tree, bought, made)
    edges = told.tree.edges
    return sum((prod(edges[pair]["share"] for pair in pairwise(way)) for way in ways), Fraction())


search = settings(
    deadline=None, max_examples=12,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)  # fmt: skip


@search
@given(stories())
def test_what_is_in_a_tin_is_exactly_one_at_every_depth(story: Story) -> None:
    with lived(story) as told:
        found = compositions_of(told.lots)
        for number, lot in enumerate(told.lots[BOUGHT:], BOUGHT):
            shares = {part.inci_name: share for part, share in found[lot.pk].items() if share}
            names = [each.item.profile.inci_name for each in told.lots[:BOUGHT]]
            expected = {name: share_of(told, n, number) for n, name in enumerate(names)}

            assert sum(shares.values()) == 1
            assert shares == {name: share for name, share in expected.items() if share}


@search
@given(stories())
def test_every_lot_item_and_melt_adds_up_to_the_milligram(story: Story) -> None:
    with lived(story) as told:
        held = balances([lot.pk for lot in told.lots])
        period = sums(Period(make.DAY, make.DAY), ["lot__item"]).balances()
        for number, lot in enumerate(told.lots):
            assert held[lot.pk].unaccounted == held[lot.pk].counted == 0
            assert held[lot.pk].on_hand == g(told.held[number])
            assert period[lot.item_id,] == MassBalance(
                received=10 * KG if number < BOUGHT else 0,
                made=told.made[number],
                used=told.used[number],
                shed=told.dried[number],
            )
        for batch, unexplained in told.unexplained.items():
            rows = Posting.objects.filter(operation=batch)
            rest = -rows.aggregate(g=Sum("quantity"))["g"]
            assert rest - Shed.objects.filter(operation=batch).grams() == g(unexplained)
        assert [finding for finding in run_checks() if not finding.is_sound] == []


@search
@given(stories())
def test_strained_lot_stays_linked_to_all_that_was_made_with_it(story: Story) -> None:
    with lived(story) as told:
        links: Any = nx.DiGraph()
        links.add_nodes_from(range(len(told.lots)))
        melts = [step for step in story if isinstance(step, Melt)]
        for made, step in enumerate(melts, BOUGHT):
            links.add_edges_from((source, made) for source in step.taken)
        numbers = {lot.pk: number for number, lot in enumerate(told.lots)}
        for number, lot in enumerate(told.lots):
            found = {numbers[pk] for pk in descendants([lot.pk])}
            assert found == nx.descendants(links, number) | {number}
