"""The benchmarks run, and compare like with like."""

from pathlib import Path

import pytest
from django.db import connection
from django.test import Client

from benchmarks import balances, family, growth, money, pack, proof, workbench
from benchmarks.ledger import measure
from benchmarks.shape import fill
from benchmarks.timing import compare
from tests import make
from tests.costs import build as costs
from tests.labels import build as labels
from tests.workbench import build as bench_build
from workshop.audit.all_checks import CHECKS
from workshop.ledger.lot_tree import links_back, links_forward
from workshop.ledger.proof.checks import check_guards
from workshop.organic.models import Pack
from workshop.organic.pack.sections import SECTIONS


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


@pytest.mark.django_db
def test_benchmark_of_the_family_tree_compares_the_same_answers() -> None:
    measured = list(family.measure(1_500, 30))

    names = [measurement.name.split(": ")[1].split(",")[0] for measurement in measured]
    assert names == ["back", "forward", "all lots' balance"]


@pytest.mark.django_db
def test_benchmark_of_money_runs_on_a_small_book() -> None:
    names = [measurement.name.split(": ")[1] for measurement in money.measure(1_500)]
    assert names == [
        "the stock of a day in money",
        "the latest year in money",
        "the later half of the book in money",
        "the earlier half of the book in money",
        "what every lot cost",
    ]


@pytest.mark.django_db
def test_benchmark_of_the_proof_fills_and_seals_a_book_that_is_sound() -> None:
    whole, alone, *checks = proof.measure(1_500)

    assert whole.startswith(connection.vendor)
    assert alone.startswith("one process alone")
    assert len(checks) == len(CHECKS)
    assert check_guards().is_sound  # they were away while it was filled


@pytest.mark.django_db
def test_benchmark_of_balances_adds_up_as_by_hand() -> None:
    names = [measurement.name.split(": ")[1] for measurement in balances.measure(1_500)]
    assert names == ["a year of one item", "a year of all items"]


def test_growth_asks_a_small_and_a_large_ledger_turn_by_turn(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(growth, "TURNS", 2)
    vendor = connection.vendor

    lines = list(growth.growth(vendor, 30, 1_500, 3_000))

    said = [line.partition(",")[0] for line in lines]
    walks = ("back", "back again", "forward", "forward again")
    assert [name for name in said if "deep" not in name] == [f"{vendor}: {walk}" for walk in walks]
    for line in lines:
        small, large, ratio = map(float, line.removesuffix(" x").split()[-3:])
        assert ratio == pytest.approx(large / small, rel=0.02)


@pytest.mark.django_db
def test_hand_written_walk_finds_the_links_that_the_book_finds() -> None:
    shape = fill(1_500, popular_feeds=30)

    for lot in (*shape.raw[:3], *shape.deep[:2], *shape.finished[:3]):
        for ours, sql in ((links_back, family.BACK), (links_forward, family.FORWARD)):
            by_hand = {(row[1], row[4]) for row in family.rows_of(sql % lot)}
            pairs = {(link.taken_posting_id, link.made_posting_id) for link in ours([lot])}
            # What was taken is always written before what was made.
            assert pairs == {tuple(sorted(pair)) for pair in by_hand}


@pytest.mark.django_db
def test_change_at_the_workbench_is_held_against_the_bare_rules(client: Client) -> None:
    """Both reckon the same formula; the page answers with its part alone."""
    labels.workshop()
    costs.rates()
    lots = [bench_build.material(name) for name in ("Seed Oil", "Wax")]
    shop = bench_build.shop(lots, ["80", "20"])
    client.force_login(shop.owner)
    change, rules = workbench.change_of(client, shop.formula), workbench.rules_of(shop.formula)
    measured = compare("a change", change, rules, times=2)
    assert measured.ours.median_ms > 0 < measured.bare.median_ms


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="only Linux tells its memory so")
@pytest.mark.django_db
def test_pack_is_measured_to_its_end() -> None:
    made = pack.pack_of(make.DAY, make.DAY, make.user())

    assert made.files == Pack.objects.get().file_count
    assert made.steps > len(SECTIONS)
    assert made.seconds > 0
    assert made.peak_mb > 10
