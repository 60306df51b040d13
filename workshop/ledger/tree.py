"""The family tree of lots: one recursive query a direction, one text for both databases."""

from collections.abc import Collection
from decimal import Decimal
from typing import NamedTuple

from django.db import connection

# A link is an uncorrected `in` and an uncorrected `out` posting of one transforming operation.
# UNION, not UNION ALL: a lot reached by two routes is kept once, and a lot that (wrongly) feeds
# itself ends the walk instead of looping for ever.
# Both planners guess far too many rows for the recursive table, and then read the whole ledger:
# SQLite before 3.51 into a Bloom filter, PostgreSQL into a hash. The condition that is always
# true takes the guess away: SQLite believes `likelihood`, PostgreSQL (which gets a function of
# that name from the ledger's migration, and inlines it) that an equality holds for one in 200.
# The unary plus keeps SQLite from the unique index on corrects_id, of which it expects one row
# where nearly every row of the ledger has none.
_STEP = """
    FROM reached
    JOIN ledger_posting AS {near} ON {near}.lot_id = reached.lot_id AND {near}.side = '{near_side}'
    JOIN ledger_operation AS act
        ON act.id = {near}.operation_id AND act.kind IN ('batch', 'packing')
    JOIN ledger_posting AS {far}
        ON {far}.operation_id = {near}.operation_id AND {far}.side = '{far_side}'
    WHERE likelihood(reached.lot_id - reached.lot_id = 0, 0.00001)
        AND +made.corrects_id IS NULL
        AND +taken.corrects_id IS NULL
        AND NOT EXISTS (SELECT 1 FROM ledger_posting AS undo WHERE undo.corrects_id = made.id)
        AND NOT EXISTS (SELECT 1 FROM ledger_posting AS undo WHERE undo.corrects_id = taken.id)
"""
_BACK = _STEP.format(near="made", near_side="out", far="taken", far_side="in")
_FORWARD = _STEP.format(near="taken", near_side="in", far="made", far_side="out")

_REACHED = """
WITH RECURSIVE reached(lot_id) AS (
    SELECT id FROM ledger_lot WHERE id IN ({seeds})
    UNION
    SELECT {far}.lot_id {step}
)
"""
# No DISTINCT: a reached lot is there once, so each pair of its postings is found once.
_LINKS = """
SELECT act.id, taken.id, taken.lot_id, -taken.quantity, made.id, made.lot_id, made.quantity
{step}
"""


class Link(NamedTuple):
    """One lot that went into another, as the row that the database answers with.

    `taken` is what the operation took of the source in one posting, `made` what it put out of
    the product, each in its item's unit.
    """

    operation_id: int
    taken_posting_id: int
    source_id: int
    taken_thousandths: int
    made_posting_id: int
    product_id: int
    made_thousandths: int

    @property
    def taken(self) -> Decimal:
        return Decimal(self.taken_thousandths).scaleb(-3)

    @property
    def made(self) -> Decimal:
        return Decimal(self.made_thousandths).scaleb(-3)


def ancestors(lot_ids: Collection[int]) -> set[int]:
    """Every lot that went into these, at any depth, and these themselves."""
    return _reached(lot_ids, _BACK, "taken")


def descendants(lot_ids: Collection[int]) -> set[int]:
    """Every lot made from these, at any depth, and these themselves."""
    return _reached(lot_ids, _FORWARD, "made")


def links_back(lot_ids: Collection[int]) -> list[Link]:
    """The links from these lots back to the first lots that came in."""
    return _links(lot_ids, _BACK, "taken")


def links_forward(lot_ids: Collection[int]) -> list[Link]:
    """The links from these lots forward to the last lots made from them."""
    return _links(lot_ids, _FORWARD, "made")


def _reached(lot_ids: Collection[int], step: str, far: str) -> set[int]:
    return {row[0] for row in _rows(lot_ids, step, far, "SELECT lot_id FROM reached")}


def _links(lot_ids: Collection[int], step: str, far: str) -> list[Link]:
    rows = _rows(lot_ids, step, far, _LINKS.format(step=step))
    rows.sort()  # by operation and posting, whatever the plan; all numbers, so quick
    return [Link._make(row) for row in rows]


def _rows(lot_ids: Collection[int], step: str, far: str, select: str) -> list[tuple[int, ...]]:
    seeds = list(lot_ids)
    if not seeds:
        return []
    marks = ", ".join(["%s"] * len(seeds))
    sql = _REACHED.format(seeds=marks, far=far, step=step) + select
    with connection.cursor() as cursor:
        cursor.execute(sql, seeds)
        rows: list[tuple[int, ...]] = cursor.fetchall()
        return rows

