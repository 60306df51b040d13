"""The family tree at several sizes of the ledger, beside a hand-written query."""

from collections.abc import Callable, Iterator, Sequence
from random import Random
from typing import Any

from django.db import connection

from benchmarks.shape import Shape, fill
from benchmarks.timing import Measurement, compare
from workshop.ledger.tree import Link, links_back, links_forward

ASKED = 40
HINT = "likelihood(r.lot - r.lot = 0, 0.00001)"
JOINS = """
FROM r JOIN ledger_posting a ON a.lot_id = r.lot AND a.side = '{near}'
JOIN ledger_operation o ON o.id = a.operation_id AND o.kind IN ('batch', 'packing')
JOIN ledger_posting b ON b.operation_id = a.operation_id AND b.side = '{far}'
WHERE {hint} AND a.corrects_id IS NULL AND b.corrects_id IS NULL
AND NOT EXISTS (SELECT 1 FROM ledger_posting u WHERE u.corrects_id = a.id)
AND NOT EXISTS (SELECT 1 FROM ledger_posting u WHERE u.corrects_id = b.id)
"""
BY_HAND = """
WITH RECURSIVE r(lot) AS (SELECT CAST(%s AS bigint) UNION SELECT b.lot_id {joins})
SELECT a.operation_id, a.id, a.lot_id, a.quantity, b.id, b.lot_id, b.quantity {joins}
"""


def by_hand(near: str, far: str) -> str:
    return BY_HAND.format(joins=JOINS.format(near=near, far=far, hint=HINT))


BACK, FORWARD = by_hand("out", "in"), by_hand("in", "out")


def measure(postings: int, popular_feeds: int) -> Iterator[Measurement]:
    shape = fill(postings, popular_feeds=popular_feeds)
    name = f"{shape.postings:,}"
    yield walk(f"back, {name} postings", links_back, BACK, shape.finished)
    if shape.deep:
        yield walk(f"back, deep, {name}", links_back, BACK, shape.deep)
    yield walk(f"forward, {name}", links_forward, FORWARD, forward_from(shape))


def forward_from(shape: Shape) -> Sequence[int]:
    return shape.raw[len(shape.raw) // 3 :]  # the middle of the story, neither first nor last


def walk(
    name: str, ours: Callable[[list[int]], list[Link]], sql: str, lots: Sequence[int]
) -> Measurement:
    """The same lots asked for both ways, turn by turn."""
    asked = Random(5).choices(lots, k=ASKED)  # noqa: S311 -- a repeatable choice, no secret
    turns: dict[bool, Iterator[int]] = {True: iter(asked * 2), False: iter(asked * 2)}

    def book() -> Any:
        return ours([next(turns[True])])

    def bare() -> Any:
        with connection.cursor() as cursor:
            cursor.execute(sql, [next(turns[False])])
            return cursor.fetchall()

    return compare(name, book, bare, times=ASKED)
