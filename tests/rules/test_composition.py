"""Composition: exact shares, checked against plain recursion and against networkx."""

from decimal import Decimal
from fractions import Fraction

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.errors import RuleError
from workshop.rules.ingredients.composition import (
    Constituent,
    compose,
    flatten_tree,
    flatten_trees,
    inputs_first,
    lot_shares,
)

OIL, WAX, HERB = Constituent("Oil"), Constituent("Wax"), Constituent("Herb")
Tree = dict[int, list[tuple[int, int]]]


@st.composite
def trees(draw: st.DrawFn) -> Tree:
    """Lots 0 to n, each made from later ones or bought; lot 0 is on top."""
    count = draw(st.integers(1, 12))
    tree: Tree = {}
    for lot in range(count):
        later = st.integers(lot + 1, count)
        inputs = st.lists(st.tuples(later, st.integers(1, 5000)), max_size=4)
        tree[lot] = draw(inputs)
    return tree


def leaf(lot: int) -> dict[Constituent, Fraction]:
    return {Constituent(f"C{lot % 3}"): Fraction(2, 3), Constituent(f"D{lot}"): Fraction(1, 3)}


def test_mixture_keeps_exact_thirds() -> None:
    found = compose([(Decimal("0.1"), {OIL: Fraction(1)}), (Decimal("0.2"), {WAX: Fraction(1)})])

    assert list(found.items()) == [(WAX, Fraction(2, 3)), (OIL, Fraction(1, 3))]


def test_mixture_leaves_out_what_weighs_nothing() -> None:
    assert compose([(1, {OIL: Fraction(1)}), (0, {WAX: Fraction(1)})]) == {OIL: 1}


@pytest.mark.parametrize(
    "inputs", [[], [(0, {OIL: Fraction(1)})], [(-1, {OIL: Fraction(1)}), (3, {WAX: Fraction(1)})]]
)
def test_mixture_of_nothing_is_refused(
    inputs: list[tuple[int, dict[Constituent, Fraction]]],
) -> None:
    with pytest.raises(RuleError, match="inputs that weigh something"):
        compose(inputs)


def test_organic_and_plain_form_of_one_name_are_kept_apart() -> None:
    organic = Constituent("Oil", is_organic=True)

    assert compose([(3, {OIL: Fraction(1)}), (1, {organic: Fraction(1)})]) == {
        OIL: Fraction(3, 4),
        organic: Fraction(1, 4),
    }


@given(trees())
def test_flattened_tree_equals_the_plain_recursive_answer(tree: Tree) -> None:
    def recursive(lot: int) -> dict[Constituent, Fraction]:
        inputs = tree.get(lot, [])
        return compose((w, recursive(s)) for s, w in inputs) if inputs else leaf(lot)

    found = flatten_tree(0, lambda lot: tree.get(lot, []), leaf)

    assert found == recursive(0)
    assert sum(found.values()) == 1


@given(trees())
def test_many_lots_are_flattened_together_as_one_by_one_and_asked_about_once(tree: Tree) -> None:
    asked: list[int] = []

    def inputs_of(lot: int) -> list[tuple[int, int]]:
        asked.append(lot)
        return tree.get(lot, [])

    found = flatten_trees(tree, inputs_of, leaf)

    assert len(asked) == len(set(asked))
    assert {lot: found[lot] for lot in tree} == {
        lot: flatten_tree(lot, lambda lot: tree.get(lot, []), leaf) for lot in tree
    }


@given(trees())
def test_shares_of_lots_equal_the_sum_over_all_paths_in_networkx(tree: Tree) -> None:
    graph = nx.MultiDiGraph()
    graph.add_node(0)
    for lot, inputs in tree.items():
        for source, weight in inputs:
            graph.add_edge(lot, source, share=Fraction(weight, sum(w for _, w in inputs)))
    reached = nx.descendants(graph, 0)

    found = lot_shares(0, lambda lot: tree.get(lot, []))

    assert set(found) == reached | {0}
    for lot in reached:
        into = sum(
            (found[maker] * data["share"] for maker, _, data in graph.in_edges(lot, data=True)
             if maker in found),
            Fraction(),
        )  # fmt: skip
        assert found[lot] == into


@given(trees())
def test_shares_of_bought_lots_add_up_to_one(tree: Tree) -> None:
    shares = lot_shares(0, lambda lot: tree.get(lot, []))

    assert sum(share for lot, share in shares.items() if not tree.get(lot)) == 1


@given(trees())
def test_each_lot_is_looked_at_once_and_after_its_inputs(tree: Tree) -> None:
    asked: list[int] = []

    def inputs_of(lot: int) -> list[tuple[int, int]]:
        asked.append(lot)
        return tree.get(lot, [])

    order = [lot for lot, _ in inputs_first(0, inputs_of)]

    assert sorted(order) == sorted(set(asked)) == sorted(asked)
    for lot, inputs in tree.items():
        if lot in order:
            assert all(order.index(source) < order.index(lot) for source, _ in inputs)


def test_chain_of_five_thousand_remelts_is_no_trouble() -> None:
    def inputs_of(lot: int) -> list[tuple[int, int]]:
        return [(lot + 1, 7)] if lot < 5000 else []

    assert flatten_tree(0, inputs_of, lambda _: {OIL: Fraction(1)}) == {OIL: 1}


def test_thousand_remelts_with_fresh_oil_stay_exact() -> None:
    def inputs_of(lot: int) -> list[tuple[int, int]]:
        return [(lot + 1, 1), (-1, 1)] if 0 <= lot < 1000 else []

    found = flatten_tree(0, inputs_of, lambda lot: {OIL if lot == -1 else WAX: Fraction(1)})

    assert found[WAX] == Fraction(1, 2**1000)
    assert sum(found.values()) == 1


@pytest.mark.parametrize(
    "tree", [{0: [(0, 1)]}, {0: [(1, 1)], 1: [(0, 1)]}, {0: [(1, 1)], 1: [(2, 1)], 2: [(1, 1)]}]
)
def test_loop_of_lots_is_refused(tree: Tree) -> None:
    with pytest.raises(RuleError, match="was made from itself"):
        flatten_tree(0, lambda lot: tree.get(lot, []), leaf)


def test_lot_used_twice_in_one_batch_is_no_loop() -> None:
    tree = {0: [(1, 1), (2, 1)], 1: [(3, 1)], 2: [(3, 1), (3, 2)]}

    assert lot_shares(0, lambda lot: tree.get(lot, []))[3] == 1


@pytest.mark.parametrize("inputs", [[(1, 0)], [(1, -1), (2, 5)]])
def test_lot_made_from_nothing_is_refused(inputs: list[tuple[int, int]]) -> None:
    with pytest.raises(RuleError):
        flatten_tree(0, lambda lot: inputs if lot == 0 else [], leaf)
