"""Whatever people do, in whatever order, the book keeps its laws."""

from decimal import Decimal
from random import Random
from typing import Any

import networkx as nx
import pytest
from django.db import transaction
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, invariant, multiple, rule

from tests import make
from workshop.core.errors import ActionRefused
from workshop.ledger import services
from workshop.ledger.lot_tree import ancestors, descendants, links_back, links_forward
from workshop.ledger.models import (
    TRANSFORMING,
    Item,
    ItemKind,
    Lot,
    Operation,
    OperationKind,
    Posting,
    Side,
)
from workshop.ledger.proof.checks import run_checks

grams = st.decimals(min_value="0.001", max_value=2000, places=3)
tokens = st.sampled_from([f"token {number}" for number in range(40)])


class Book(RuleBasedStateMachine):
    """Receipts, batches, corrections, counts and amendments in any order."""

    lots = Bundle("lots")
    batches = Bundle("batches")
    postings = Bundle("postings")

    def __init__(self) -> None:
        super().__init__()
        self.atomic = transaction.atomic()
        self.atomic.__enter__()
        self.owner = make.user()
        self.draw = Random(7).randrange
        self.expected: dict[int, Decimal] = {}
        self.by_token: dict[str, int] = {}

    def teardown(self) -> None:
        try:
            findings = [finding for finding in run_checks() if not finding.is_sound]
            assert findings == []
        finally:
            transaction.set_rollback(True)
            self.atomic.__exit__(None, None, None)

    def new_lot(self, origin: Operation, kind: ItemKind, quantity: Decimal) -> Lot:
        lot = services.create_lot(
            Item.objects.filter(kind=kind).first() or make.item(kind),
            origin=origin,
            made_on=make.DAY,
            best_before=None,
            by=self.owner,
            at=make.NOON,
            draw=self.draw,
        )
        services.post(origin, lot, Side.OUT, quantity, by=self.owner, at=make.NOON)
        self.expected[lot.pk] = quantity
        return lot

    @rule(target=lots, quantity=grams)
    def receive(self, quantity: Decimal) -> Lot:
        receipt = make.operation(by=self.owner)
        lot = self.new_lot(receipt, ItemKind.MATERIAL, quantity)
        services.close_operation(receipt, by=self.owner, at=make.NOON)
        return lot

    @rule(target=batches)
    def begin(self) -> Operation:
        return make.operation(OperationKind.BATCH, by=self.owner)

    @rule(target=postings, batch=batches, lot=lots, quantity=grams, token=tokens)
    def weigh(self, batch: Operation, lot: Lot, quantity: Decimal, token: str) -> Any:
        known = self.by_token.get(token)
        try:
            posting = services.post(
                batch, lot, Side.IN, quantity, by=self.owner, at=make.NOON, token=token
            )
        except ActionRefused:
            return multiple()
        if known is None:
            self.by_token[token] = posting.pk
            self.expected[lot.pk] -= quantity
        else:
            assert posting.pk == known
        return posting

    @rule(target=lots, batch=batches, share=st.integers(1, 100))
    def pour(self, batch: Operation, share: int) -> Any:
        batch.refresh_from_db()
        held = -sum((row.quantity for row in batch.postings.all()), Decimal(0))
        quantity = round(held * share / 100, 3)
        if batch.is_closed or quantity <= 0:
            return multiple()
        return self.new_lot(batch, ItemKind.BULK, quantity)

    @rule(posting=postings)
    def take_back(self, posting: Posting) -> None:
        operation = Operation.objects.get(pk=posting.operation_id)
        net = -sum((row.quantity for row in operation.postings.all()), Decimal(0))
        if net < posting.moved:
            return  # a kettle that was poured cannot give back what is in the tins
        try:
            services.reverse(posting, by=self.owner, at=make.NOON, reason="read wrongly")
        except ActionRefused:
            return
        self.expected[posting.lot_id] += posting.moved

    @rule(batch=batches)
    def close(self, batch: Operation) -> None:
        try:
            services.close_operation(batch, by=self.owner, at=make.NOON)
        except ActionRefused:
            assert Operation.objects.get(pk=batch.pk).is_closed

    @rule(batch=batches)
    def amend(self, batch: Operation) -> None:
        try:
            services.amend_operation(batch, by=self.owner, at=make.NOON, reason="forgotten line")
        except ActionRefused:
            assert not Operation.objects.get(pk=batch.pk).is_closed

    @rule(lot=lots, counted=grams)
    def count(self, lot: Lot, counted: Decimal) -> None:
        token = f"count {Operation.objects.count()}"
        services.count_lot(lot, counted, by=self.owner, at=make.NOON, reason="counted", token=token)
        self.expected[lot.pk] = counted

    @invariant()
    def every_lot_holds_what_was_done_to_it(self) -> None:
        held = {lot.pk: lot.on_hand for lot in Lot.objects.with_on_hand()}
        assert held == self.expected


class TestBook(Book.TestCase):  # type: ignore[valid-type, misc]
    settings = settings(
        max_examples=40,
        stateful_step_count=25,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )

    @pytest.fixture(autouse=True)
    def _database(self, db: None) -> None:
        """The machine rolls each of its runs back inside the test's own transaction."""


def random_ledger(seed: int) -> None:
    """Receipts, batches of batches, some weighings taken back."""
    chance = Random(seed)
    owner = make.user()
    material, bulk = make.item(), make.item(ItemKind.BULK)
    lots = [make.lot(material, by=owner) for _ in range(6)]
    for _ in range(12):
        batch = make.operation(chance.choice(TRANSFORMING), by=owner)
        for lot in chance.sample(lots, chance.randint(1, 4)):
            taken = services.post(batch, lot, Side.IN, Decimal(10), by=owner, at=make.NOON)
            if chance.random() < 0.3:
                services.reverse(taken, by=owner, at=make.NOON, reason="wrong lot")
        for _ in range(chance.randint(1, 2)):
            lot = services.create_lot(
                bulk, origin=batch, made_on=make.DAY, best_before=None, by=owner, at=make.NOON
            )
            services.post(batch, lot, Side.OUT, Decimal(4), by=owner, at=make.NOON)
            lots.append(lot)


def graph_of_the_ledger() -> Any:
    """The family tree as networkx sees it, put together from the rows in plain Python."""
    graph = nx.DiGraph()
    graph.add_nodes_from(Lot.objects.values_list("pk", flat=True))
    undone = set(Posting.objects.filter(corrects__isnull=False).values_list("corrects", flat=True))
    rows = [
        row
        for row in Posting.objects.select_related("operation")
        if row.corrects_id is None and row.pk not in undone and row.operation.kind in TRANSFORMING
    ]
    for taken in (row for row in rows if row.side == Side.IN):
        for made in (row for row in rows if row.side == Side.OUT):
            if made.operation_id == taken.operation_id:
                graph.add_edge(taken.lot_id, made.lot_id)
    return graph


@pytest.mark.django_db
@pytest.mark.parametrize("seed", range(4))
def test_family_tree_is_what_networkx_finds(seed: int) -> None:
    random_ledger(seed)
    graph = graph_of_the_ledger()

    for lot in graph.nodes:
        assert ancestors([lot]) == nx.ancestors(graph, lot) | {lot}
        assert descendants([lot]) == nx.descendants(graph, lot) | {lot}
        back = {(link.source_id, link.product_id) for link in links_back([lot])}
        assert back == set(graph.subgraph(ancestors([lot])).edges)
        forward = {(link.source_id, link.product_id) for link in links_forward([lot])}
        assert forward == set(graph.subgraph(descendants([lot])).edges)


@pytest.mark.django_db
def test_family_tree_takes_one_query_however_deep(django_assert_num_queries: Any) -> None:
    owner, bulk = make.user(), make.item(ItemKind.BULK)
    lot = first = make.lot(by=owner)
    for _ in range(30):
        batch = make.operation(OperationKind.BATCH, by=owner)
        services.post(batch, lot, Side.IN, Decimal(1), by=owner, at=make.NOON)
        lot = services.create_lot(
            bulk, origin=batch, made_on=make.DAY, best_before=None, by=owner, at=make.NOON
        )
        services.post(batch, lot, Side.OUT, Decimal(1), by=owner, at=make.NOON)

    with django_assert_num_queries(2):
        assert len(ancestors([lot.pk])) == 31
        assert len(links_forward([first.pk])) == 30


@pytest.mark.django_db
def test_family_tree_of_nothing_is_empty() -> None:
    assert ancestors([]) == set()
    assert links_back([]) == []


@pytest.mark.django_db
def test_stock_counts_of_two_lots_are_no_kinship() -> None:
    more, less = make.lot(on_hand=10), make.lot(on_hand=10)
    by = make.user()
    for lot, counted in ((more, 11), (less, 9)):
        services.count_lot(
            lot, Decimal(counted), by=by, at=make.NOON, reason="shelf counted", token=lot.code
        )

    assert ancestors([more.pk]) == {more.pk}


@pytest.mark.django_db
def test_lot_reached_by_several_routes_is_linked_once_by_each() -> None:
    """Oil goes into an infusion and, with it, into a salve; all three go into a remelt."""
    oil = make.lot(on_hand=1000)
    infusion = made_of(oil)
    salve = made_of(oil, infusion)
    remelt = made_of(salve, infusion, oil)
    pairs = [
        (oil.pk, infusion.pk),
        (oil.pk, salve.pk),
        (oil.pk, remelt.pk),
        (infusion.pk, salve.pk),
        (infusion.pk, remelt.pk),
        (salve.pk, remelt.pk),
    ]

    for links in (links_forward([oil.pk]), links_back([remelt.pk])):
        assert sorted((link.source_id, link.product_id) for link in links) == sorted(pairs)


def made_of(*sources: Lot) -> Lot:
    """A batch that takes 10 g of each source and puts out one lot of 10 g."""
    batch = make.operation(OperationKind.BATCH)
    for source in sources:
        services.post(batch, source, Side.IN, Decimal(10), by=batch.opened_by, at=make.NOON)
    made = make.bulk_of(batch)
    services.post(batch, made, Side.OUT, Decimal(10), by=batch.opened_by, at=make.NOON)
    return made
