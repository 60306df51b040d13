"""A kettle between what is not organic and what is: a cleaning in the gap, in that kettle."""

from datetime import UTC, datetime, timedelta

import pytest

from workshop.rules.organic.equipment_cleaning import Run, uncleaned

# 7 CFR 205.272(a), no commingling; that a cleaning is written down is common practice, no source.
NINE = datetime(2026, 11, 2, 9, tzinfo=UTC)
HOUR = timedelta(hours=1)


def run(reference: str, begins: int, *, organic: bool, kettle: int = 1) -> Run:
    """A run of two hours, so many hours after nine."""
    began = NINE + begins * HOUR
    return Run(kettle, reference, organic, began, began + 2 * HOUR)


PLAIN, ORGANIC = run("K-1", 0, organic=False), run("K-2", 6, organic=True)


def found(runs: list[Run], *cleaned: tuple[int, float]) -> list[tuple[str, str]]:
    moments = [(kettle, NINE + hours * HOUR) for kettle, hours in cleaned]
    return [(one.before.reference, one.run.reference) for one in uncleaned(runs, moments)]


@pytest.mark.parametrize(
    ("hours", "is_clean"),
    [
        (1.99, False),  # while the first was still being poured
        (2, True),
        (4, True),
        (6, True),  # just before the first weighing, to the minute
        (6.01, False),
    ],
)
def test_cleaning_counts_from_the_end_of_one_run_to_the_beginning_of_the_next(
    hours: float,
    is_clean: bool,  # noqa: FBT001 -- a column of the table
) -> None:
    assert found([PLAIN, ORGANIC], (1, hours)) == ([] if is_clean else [("K-1", "K-2")])


def test_cleaning_of_another_kettle_does_not_help_and_one_of_several_is_enough() -> None:
    assert found([PLAIN, ORGANIC], (2, 4)) == [("K-1", "K-2")]
    assert found([PLAIN, ORGANIC], (1, 1), (2, 4), (1, 5)) == []


@pytest.mark.parametrize(("first", "second"), [(True, True), (True, False), (False, False)])
def test_no_other_change_asks_for_a_cleaning(first: bool, second: bool) -> None:  # noqa: FBT001 -- columns of the table
    runs = [run("K-1", 0, organic=first), run("K-2", 6, organic=second)]
    assert found(runs) == []


def test_what_was_in_another_kettle_is_not_before_it() -> None:
    assert found([PLAIN, run("K-2", 6, organic=True, kettle=2)]) == []


def test_only_the_first_organic_run_follows_the_other_and_each_such_pair_is_told() -> None:
    runs = [ORGANIC, PLAIN, run("K-3", 9, organic=True), run("K-4", 12, organic=False),
            run("K-5", 15, organic=True)]  # fmt: skip
    assert found(runs) == [("K-1", "K-2"), ("K-4", "K-5")]


def test_two_that_began_together_stand_by_their_numbers() -> None:
    together = [run("K-2", 0, organic=True), run("K-1", 0, organic=False)]
    assert found(together) == [("K-1", "K-2")]
