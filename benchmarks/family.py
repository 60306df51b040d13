"""The family tree and the balance at several sizes of the ledger, beside hand-written queries."""

from collections.abc import Callable, Collection, Iterator, Sequence
from random import Random
from typing import Any

from django.db import connection

from benchmarks.shape import Shape, fill
from benchmarks.timing import Measurement, compare
from workshop.ledger.lot_tree import Link, links_back, links_forward
from workshop.ledger.stock_queries import whole_ledger

Links = Callable[[Collection[int]], list[Link]]
ASKED = 60
BY_HAND = """
WITH RECURSIVE r(lot, act, a, a_lot, a_moved, b, b_moved) AS (
SELECT CAST({lot} AS bigint), {no}, {no}, {no}, {no}, {no}, {no}
UNION
SELECT b.lot_id, a.operation_id, a.id, a.lot_id, a.quantity, b.id, b.quantity
FROM r JOIN ledger_posting a ON a.lot_id = r.lot AND a.side = '{near}'
JOIN ledger_operation o ON o.id = a.operation_id AND o.kind IN ('batch', 'packing')
JOIN ledger_posting b ON b.operation_id = a.operation_id AND b.side = '{far}'
WHERE likelihood(r.lot - r.lot = 0, 0.00001)
AND +a.corrects_id IS NULL AND +b.corrects_id IS NULL
AND NOT EXISTS (SELECT 1 FROM ledger_posting u WHERE u.corrects_id = a.id)
AND NOT EXISTS (SELECT 1 FROM ledger_posting u WHERE u.corrects_id = b.id)
)
SELECT act, a, a_lot, a_moved, b, lot, b_moved FROM r WHERE act IS NOT NULL
"""
SUMS = "SELECT lot_id, SUM(quantity) FROM ledger_posting GROUP BY lot_id"


def by_hand(near: str, far: str) -> str:
    return BY_HAND.format(lot="%d", near=near, far=far, no="CAST(NULL AS bigint)")


BACK, FORWARD = by_hand("out", "in"), by_hand("in", "out")


def measure(postings: int, popular_feeds: int) -> Iterator[Measurement]:
    """Ask for lots whose answers are of one size, so that ledgers of any size compare."""
    shape = fill(postings, popular_feeds=popular_feeds)
    for name, links, lots in questions(shape, popular_feeds):
        sql = BACK if links is links_back else FORWARD
        yield walk(f"{shape.postings:,}: {name}", links, sql, lots)
    yield holding(f"{shape.postings:,}: all lots' balance")


def questions(shape: Shape, popular_feeds: int) -> Iterator[tuple[str, Links, Sequence[int]]]:
    """The walks, and lots to ask them of."""
    yield "back", links_back, alike(shape.finished, links_back, 10)
    if shape.deep:
        yield "deep back", links_back, alike(shape.deep, links_back, 50)
    yield "forward", links_forward, alike(forward_from(shape), links_forward, popular_feeds)


def forward_from(shape: Shape) -> Sequence[int]:
    """The middle of the story: the first were part used, and the last are not used up."""
    third = len(shape.raw) // 3
    return shape.raw[third:-third]


def alike(lots: Sequence[int], links: Links, size: int) -> Sequence[int]:
    """Of some lots, those whose answers come closest to `size` links."""
    some = Random(5).sample(lots, min(len(lots), 4 * ASKED))  # noqa: S311 -- repeatable, no secret
    return sorted(some, key=lambda lot: abs(len(links([lot])) - size))[:ASKED]


def walk(name: str, ours: Links, sql: str, lots: Sequence[int]) -> Measurement:
    """The same lots asked for both ways, turn by turn; every lot is asked for before."""
    turns: dict[bool, Iterator[int]] = {True: iter(lots), False: iter(lots)}
    size = sum(len(ours([lot])) for lot in lots) / len(lots)
    return compare(
        f"{name}, {round(size)} links",
        lambda: ours([next(turns[True])]),
        lambda: rows_of(sql % next(turns[False])),
        times=len(lots),
    )


def holding(name: str) -> Measurement:
    """What every lot of the ledger holds, in one pass, beside the plain sums."""
    return compare(name, whole_ledger, lambda: rows_of(SUMS), times=9)


def rows_of(sql: str) -> Any:
    with connection.cursor() as cursor:
        cursor.execute(sql)
        return cursor.fetchall()
