"""Effectiveness checks and the accounted part, against published levels and worked figures."""

from decimal import Decimal

import pytest

from workshop.rules.aftersales.recalls import accounted_percent, contacts_needed, is_far_from_book
from workshop.rules.errors import RuleError


@pytest.mark.parametrize(
    ("level", "customers", "needed"),
    [
        # 21 CFR 7.42(b)(3): A 100 %, B above 10 %, C 10 %, D 2 %, E none
        ("A", 37, 37),
        ("B", 37, 4),
        ("B", 40, 5),
        ("B", 1, 1),
        ("B", 0, 0),
        ("C", 37, 4),
        ("C", 40, 4),
        ("D", 37, 1),
        ("D", 101, 3),
        ("E", 37, 0),
    ],
)
def test_level_says_how_many_customers_are_asked(level: str, customers: int, needed: int) -> None:
    assert contacts_needed(level, customers) == needed


@pytest.mark.parametrize(("level", "customers"), [("F", 1), ("", 1), ("A", -1)])
def test_odd_level_or_count_is_refused(level: str, customers: int) -> None:
    with pytest.raises(RuleError):
        contacts_needed(level, customers)


@pytest.mark.parametrize(
    ("accounted", "made", "percent"),
    [
        # The formula of mock recalls, common practice; the two figures were worked out by hand.
        (480, 480, "100.00"),
        (475, 480, "98.96"),
        (0, 480, "0.00"),
        (482, 480, "100.42"),
        (999_999, 1_000_000, "99.99"),
        (1_000_001, 1_000_000, "100.01"),
    ],
)
def test_only_the_whole_is_a_hundred_percent(accounted: int, made: int, percent: str) -> None:
    assert accounted_percent(Decimal(accounted), Decimal(made)) == Decimal(percent)


def test_nothing_made_has_no_percent() -> None:
    with pytest.raises(RuleError):
        accounted_percent(Decimal(0), Decimal(0))


@pytest.mark.parametrize(
    ("book", "found", "is_far"),
    [
        # A tenth of the book either way is still near; common practice, no source.
        ("19800", "19.8", True), ("19800", "17820", False), ("19800", "17819.999", True),
        ("19800", "21780", False), ("19800", "21780.001", True), ("1", "0", True),
        ("0", "0", False), ("0", "0.001", True), ("-5", "0", True),
    ],
)  # fmt: skip
def test_more_than_a_tenth_off_is_far_from_the_book(book: str, found: str, *, is_far: bool) -> None:
    assert is_far_from_book(Decimal(book), Decimal(found)) is is_far
