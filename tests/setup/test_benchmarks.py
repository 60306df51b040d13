"""The benchmarks run, and compare like with like."""

import pytest

from benchmarks import family
from benchmarks.growth import growth
from benchmarks.ledger import measure
from benchmarks.shape import fill
from benchmarks.timing import compare
from workshop.ledger.tree import links_back, links_forward


@pytest.mark.django_db
def test_benchmark_of_the_ledger_runs_on_a_small_book() -> None:
    measured = list(measure(lots=3, times=5))

    assert [measurement.name for measurement in measured] == [
        "post 12.5 g",
        "what one lot holds",
        "50 of 3 lots on hand",
    ]
    assert all(measurement.bare.median_ms > 0 for measurement in measured)


def test_comparison_takes_turns() -> None:
    turns: list[str] = []

    compare("turns", lambda: turns.append("ours"), lambda: turns.append("bare"), times=3)

    assert turns == ["ours", "bare", "bare", "ours", "ours", "bare"]


def test_other_work_comes_before_each() -> None:
    turns: list[str] = []

    compare(
        "turns",
        lambda: turns.append("ours"),
        lambda: turns.append("bare"),
        times=2,
        before=lambda: turns.append("-"),
    )

    assert "".join(turns) == "-ours-bare-bare-ours"


@pytest.mark.django_db
def test_benchmark_of_the_family_tree_compares_the_same_answers() -> None:
    measured = list(family.measure(1_500, 30))

    names = [measurement.name.split(": ")[1].split(",")[0] for measurement in measured]
    assert names == ["back", "back again", "forward", "forward again", "all lots' balance"]


def test_growth_compares_a_link_in_the_smallest_and_the_largest_ledger() -> None:
    walks = [
        ("sqlite", "10000/300", "back", 5.0),  # too small to tell anything
        ("sqlite", "100000/300", "back", 8.0),
        ("sqlite", "1000000/300", "back", 9.0),
        ("sqlite", "2500000/300", "back", 10.0),
        ("sqlite", "100000/300", "forward", 7.0),
    ]

    _, row = growth(walks)

    said = " ".join(row.split())
    assert said == "sqlite: back, feeds 300, 100,000 to 2,500,000 8.0 10.0 1.25 x"


@pytest.mark.django_db
def test_hand_written_walk_finds_the_links_that_the_book_finds() -> None:
    shape = fill(1_500, popular_feeds=30)

    for lot in (*shape.raw[:3], *shape.deep[:2], *shape.finished[:3]):
        for ours, sql in ((links_back, family.BACK), (links_forward, family.FORWARD)):
            by_hand = {(row[1], row[4]) for row in family.rows_of(sql % lot)}
            pairs = {(link.taken_posting_id, link.made_posting_id) for link in ours([lot])}
            # What was taken is always written before what was made.
            assert pairs == {tuple(sorted(pair)) for pair in by_hand}
