"""Composition: exact shares, checked against plain recursion and against networkx."""

from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from math import prod

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.errors import RuleError
from workshop.rules.ingredients.composition import (
    Constituent,
    compose,
    extract_of,
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


@st.composite
def strained_trees(draw: st.DrawFn) -> tuple[Tree, set[tuple[int, int]]]:
    """A tree, and which of its inputs were strained out again; never all of a lot's."""
    tree = draw(trees())
    strained: set[tuple[int, int]] = set()
    for lot, inputs in tree.items():
        sources = sorted({source for source, _ in inputs})
        strained |= {(lot, source) for source in sources[1:] if draw(st.booleans())}
    return tree, strained


@given(strained_trees())
def test_what_was_strained_out_leaves_a_name_and_no_weight(
    drawn: tuple[Tree, set[tuple[int, int]]],
) -> None:
    """Against networkx: every path of what stayed, and every path that a straining cut short."""
    tree, strained = drawn
    graph: nx.DiGraph[int] = nx.DiGraph()
    graph.add_nodes_from(range(len(tree) + 1))
    for lot, inputs in tree.items():
        stayed = [one for one in inputs if (lot, one[0]) not in strained]
        for source, weight in stayed:
            known = graph.get_edge_data(lot, source, {"share": Fraction()})["share"]
            whole = sum(weight for _, weight in stayed)
            graph.add_edge(lot, source, share=known + Fraction(weight, whole))

    def inputs_of(key: tuple[int, str]) -> list[tuple[tuple[int, str], int]]:
        lot, stays = key
        return [
            ((one, "out"), 0) if (lot, one) in strained else ((one, ""), weight)
            for one, weight in ([] if stays else tree.get(lot, []))
        ]

    def content(key: tuple[int, str]) -> dict[Constituent, Fraction]:
        return extract_of(f"E{key[0]}", {}) if key[1] else leaf(key[0])

    found = flatten_tree((0, ""), inputs_of, content)

    wanted: dict[Constituent, Fraction] = {}
    for bought in (lot for lot in graph if graph.out_degree(lot) == 0):
        share = sum(
            (
                prod(graph.edges[edge]["share"] for edge in pairwise(path))
                for path in nx.all_simple_paths(graph, 0, bought)
            ),
            Fraction(),
        )
        for part, of in leaf(bought).items() if share else ():
            wanted[part] = wanted.get(part, Fraction()) + share * of
    there = nx.descendants(graph, 0) | {0}
    extracts = {f"E{source}" for lot, source in strained if lot in there}
    assert {part: share for part, share in found.items() if share} == wanted
    assert sum(found.values()) == 1
    assert {part.inci_name for part, share in found.items() if not share} == extracts


def test_strained_out_herb_may_have_left_all_of_its_allergens_in_the_oil() -> None:
    made_from = {"balm": [("infusion", 9), ("wax", 1)], "infusion": [("oil", 8), ("herb", 2)]}

    shares = lot_shares("balm", lambda lot: made_from.get(lot, []), {("infusion", "herb")})

    assert shares == {
        "balm": 1,
        "infusion": Fraction(9, 10),
        "wax": Fraction(1, 10),
        "oil": Fraction(9, 10),
        "herb": Fraction(9, 40),
    }


@pytest.mark.parametrize(
    ("herb", "is_organic", "status"),
    [
        ({Constituent("Flower", is_organic=True): Fraction(1)}, True, ""),
        ({Constituent("Flower", status="agricultural"): Fraction(1)}, False, "agricultural"),
        (
            {
                Constituent("Flower", is_organic=True): Fraction(1, 2),
                Constituent("Flower", status="listed_606"): Fraction(1, 2),
            },
            False,
            "listed_606",
        ),
        # Of an herb of which nothing is known, nothing is said.
        ({}, False, ""),
    ],
)
def test_extract_is_organic_where_all_of_the_plant_was(
    herb: dict[Constituent, Fraction], *, is_organic: bool, status: str
) -> None:
    ((extract, share),) = extract_of("Flower Extract", herb).items()

    assert (extract.inci_name, extract.kind, share) == ("Flower Extract", "extract", Fraction(1))
    assert (extract.is_organic, extract.status) == (is_organic, status)
