"""Which modules are held against which tests."""

from typing import NamedTuple


class Room(NamedTuple):
    name: str
    package: str
    modules: tuple[str, ...]  # patterns of paths below the package
    tests: tuple[str, ...]
    ignored: tuple[str, ...] = ()


ROOMS = (
    # The examples in the docstrings are tests of the rules too.
    Room(
        "rules",
        "workshop/rules",
        ("*.py", "*/*.py"),
        ("tests/rules", "workshop/rules"),
        ("tests/rules/test_rules_are_pure.py",),  # a module with a fault in it imports mutmut
    ),
    Room(
        "ledger",
        "workshop/ledger",
        ("services/*.py", "proof/*.py", "lot_tree.py"),
        # What the proof finds in a book that was tampered with is tried beside the whole book.
        ("tests/ledger", "tests/audit"),
    ),
    Room(
        "kettle",
        "workshop/kettle",
        ("services/*.py",),
        ("tests/kettle",),
        ("tests/kettle/test_faults.py",),  # starts programs of its own, which know no fault
    ),
    Room("curing", "workshop/curing", ("services/*.py", "release_readiness.py"), ("tests/curing",)),
    Room("packing", "workshop/packing", ("services/*.py",), ("tests/packing",)),
    Room(
        "costs",
        "workshop/costs",
        ("values/lot_values.py", "values/paid.py", "values/whole_book.py", "period.py"),
        ("tests/costs",),
    ),
    Room("workbench", "workshop/workbench", ("outcome.py", "supply.py"), ("tests/workbench",)),
    Room("counts", "workshop/counts", ("services.py", "rounds.py", "due.py"), ("tests/counts",)),
    Room("labels", "workshop/labels", ("approval/[!_v]*.py",), ("tests/labels",)),
    Room(
        "recalls",
        "workshop/aftersales",
        ("services/recall*.py", "recalls/scope.py"),
        ("tests/aftersales",),
    ),
)
