"""The family tree and the balance at several sizes of the ledger, beside hand-written queries."""

from collections.abc import Callable, Iterator, Sequence
from random import Random
from typing import Any

from django.db import connection

from benchmarks.shape import Shape, fill
from benchmarks.timing import Measurement, compare
from workshop.ledger.reads import whole_ledger
from workshop.ledger.tree import Link, links_back, links_forward

ASKED = 60
AGAIN = 3
CACHE_LINE = 64
OTHER = bytearray(96 * 1024 * 1024)
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
    name = f"{shape.postings:,}"
    back = alike(shape.finished, links_back, 10)
    forward = alike(forward_from(shape), links_forward, popular_feeds)
    yield from walk(f"{name}: back", links_back, BACK, back)
    if shape.deep:
        deep = alike(shape.deep, links_back, 50)
        yield from walk(f"{name}: deep back", links_back, BACK, deep)
    yield from walk(f"{name}: forward", links_forward, FORWARD, forward)
    yield holding(f"{name}: all lots' balance")


def forward_from(shape: Shape) -> Sequence[int]:
    """The middle of the story: the first were part used, and the last are not used up."""
    third = len(shape.raw) // 3
    return shape.raw[third:-third]


def alike(
    lots: Sequence[int], links: Callable[[list[int]], list[Link]], size: int
) -> Sequence[int]:
    """Of some lots, those whose answers come closest to `size` links."""
    some = Random(5).sample(lots, min(len(lots), 4 * ASKED))  # noqa: S311 -- repeatable, no secret
    return sorted(some, key=lambda lot: abs(len(links([lot])) - size))[:ASKED]


def walk(
    name: str, ours: Callable[[list[int]], list[Link]], sql: str, lots: Sequence[int]
) -> Iterator[Measurement]:
    """The same lots asked for both ways, turn by turn: out of the blue, and again.

    Out of the blue, other work has emptied the processor's caches: else a small ledger would lie
    in them whole, and a large one would be compared with the speed of the memory.
    """
    size = sum(len(ours([lot])) for lot in lots) / len(lots)

    def asked(name: str, lots: Sequence[int], before: Callable[[], object]) -> Measurement:
        turns: dict[bool, Iterator[int]] = {True: iter(lots), False: iter(lots)}
        return compare(
            f"{name}, {round(size)} links",
            lambda: ours([next(turns[True])]),
            lambda: rows_of(sql % next(turns[False])),
            times=len(lots),
            links=size,
            before=before,
        )

    yield asked(name, lots, other_work)
    yield asked(f"{name} again", [lot for lot in lots for _ in range(AGAIN)], lambda: None)


def other_work() -> None:
    """Writes more than the caches of the processor hold."""
    OTHER[::CACHE_LINE] = bytes(len(OTHER) // CACHE_LINE)


def holding(name: str) -> Measurement:
    """What every lot of the ledger holds, in one pass, beside the plain sums."""
    return compare(name, whole_ledger, lambda: rows_of(SUMS), times=9)


def rows_of(sql: str) -> Any:
    with connection.cursor() as cursor:
        cursor.execute(sql)
        return cursor.fetchall()
