"""The benchmarks run, and compare like with like."""

import pytest

from benchmarks.ledger import measure
from benchmarks.timing import compare


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
