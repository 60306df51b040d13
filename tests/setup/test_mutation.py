"""What `make mutants` says of itself is so: rooms exist, and what is argued away is still there."""

import ast

import pytest

from mutation.accepted_survivors import PROJECT, argued, stale
from mutation.faults import Change, Fault, changed, definition, only_words
from mutation.modules_and_tests import ROOMS, Room
from mutation.table import Row, rows, shown, sort_out
from mutation.undecorated import undecorated
from mutation.workplace import modules_of, narrowed

DECORATED = """from functools import cache, wraps


@cache
@wraps(
    len
)
def twice(n: int) -> int:
    return 2 * n


class Jar:
    @property
    def full(self) -> bool:
        return True
"""


@pytest.mark.parametrize("room", ROOMS, ids=lambda room: room.name)
def test_every_room_has_modules_and_tests(room: Room) -> None:
    assert modules_of(room)
    assert [path for path in (*room.tests, *room.ignored) if not (PROJECT / path).exists()] == []


def test_one_module_of_the_rules_is_tried_by_its_own_tests() -> None:
    rules, ledger = ROOMS[:2]

    assert narrowed(rules, "lye").modules == ("soap/lye.py",)
    assert narrowed(rules, "lye").tests == ("tests/rules/test_lye.py", "workshop/rules/soap/lye.py")
    assert narrowed(ledger, "lots") == ledger._replace(modules=("services/lots.py",))


def test_what_is_argued_away_is_still_in_the_code() -> None:
    assert stale(argued()) == []


def test_nothing_is_argued_away_twice() -> None:
    entries = [(entry.module, entry.change) for entry in argued()]

    assert len(entries) == len(set(entries))


def test_argument_about_a_line_that_is_gone_is_stale() -> None:
    gone = """
        [[survivor]]
        module = "mutation/table.py"
        was = "no such line"
        now = "none"
        why = "nothing"
        [[survivor]]
        module = "mutation/no_such.py"
        was = "import ast"
        now = ""
        why = "nothing"
    """

    assert len(stale(argued(gone))) == 2


def test_argument_without_a_reason_is_stale() -> None:
    [entry] = argued(
        """
        [[survivor]]
        module = "mutation/undecorated.py"
        was = "import ast"
        now = ""
        why = " "
        """
    )

    assert stale([entry]) == [entry]
    assert stale([entry._replace(why="An example.")]) == []


def test_code_without_decorators_means_the_same_and_keeps_its_lines() -> None:
    plain = undecorated(DECORATED)

    assert plain.split("\n")[8:10] == ["    return 2 * n", "twice = cache(wraps(len)(twice))"]
    assert "    full = property(full)" in plain
    assert "@" not in plain
    assert definition(plain, "twice") == definition(DECORATED, "twice") == 8
    assert definition(plain, "full", "Jar") == 14
    ast.parse(plain)


def test_change_is_read_from_two_copies_of_a_function() -> None:
    was = ["# why", "def f__orig(x):", "    y = 1", "    return x < y"]
    now = ["# why", "def f__1(x):", "    y = 1", "    return x <= y"]

    assert changed(was, now, 20) == (22, Change("return x < y", "return x <= y"))


@pytest.mark.parametrize(
    ("was", "now", "words"),
    [
        ('raise Refused("No such lot.")', 'raise Refused("XXNo such lot.XX")', True),
        ('raise RuleError("Too long.")', "raise RuleError(None)", True),
        ('raise RuleError(f"{n} g is too much.")', "raise RuleError(None)", True),
        ('kind = "ounce"', 'kind = "XXounceXX"', False),
        ('say(n, "No such lot.")', 'say(None, "No such lot.")', False),
        ("if n < 1:", "if n <= 1:", False),
    ],
)
def test_another_wording_is_no_fault(was: str, now: str, *, words: bool) -> None:
    assert only_words(Change(was, now)) is words


def test_table_counts_what_is_argued_away_apart() -> None:
    faults = [Fault(f"f{n}", "a.py", n, Change(f"was {n}", f"now {n}")) for n in range(1, 5)]
    survived = {"f1": False, "f2": False, "f3": True, "f4": True}
    entry = """
        [[survivor]]
        module = "a.py"
        was = "was 3"
        now = "now 3"
        why = "Nobody could see it."
    """

    result = sort_out(faults, survived, argued(entry))

    assert rows(result) == [Row("a.py", faults=4, noticed=2, argued=1)]
    assert rows(result)[0].percent == "66.6"
    assert [shown(fault) for fault in result.open] == ["a.py:4\n    was  was 4\n    now  now 4"]
