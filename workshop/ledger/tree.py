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
    FROM {reached}
    JOIN ledger_posting AS {near}
        ON {near}.lot_id = {reached}.lot_id AND {near}.side = '{near_side}'
    JOIN ledger_operation AS act
        ON act.id = {near}.operation_id AND act.kind IN ('batch', 'packing')
    JOIN ledger_posting AS {far}
        ON {far}.operation_id = {near}.operation_id AND {far}.side = '{far_side}'
    WHERE likelihood({reached}.lot_id - {reached}.lot_id = 0, 0.00001)
        AND +made.corrects_id IS NULL
        AND +taken.corrects_id IS NULL
        AND NOT EXISTS (SELECT 1 FROM ledger_posting AS undo WHERE undo.corrects_id = made.id)
        AND NOT EXISTS (SELECT 1 FROM ledger_posting AS undo WHERE undo.corrects_id = taken.id)
"""
_REACHED = """
{reached}(lot_id) AS (
    SELECT id FROM ledger_lot WHERE id IN (%s)
    UNION
    SELECT {far}.lot_id {step}
)
"""
# No DISTINCT: a reached lot is there once, so each pair of its postings is found once.
_LINKS = """
SELECT {{}} act.id, taken.id, taken.lot_id, -taken.quantity, made.id, made.lot_id, made.quantity
{step}
"""


class _Walk(NamedTuple):
    """One direction of the tree: the lots it reaches from those at %s, and the links it goes."""

    reached: str
    common: str
    links: str


def _walk(reached: str, near: str, near_side: str, far: str, far_side: str) -> _Walk:
    step = _STEP.format(reached=reached, near=near, near_side=near_side, far=far, far_side=far_side)
    common = _REACHED.format(reached=reached, far=far, step=step)
    return _Walk(reached, common, _LINKS.format(step=step))


_BACK = _walk("behind", "made", "out", "taken", "in")
_FORWARD = _walk("ahead", "taken", "in", "made", "out")
_BOTH_WAYS = (
    f"WITH RECURSIVE {_BACK.common}, {_FORWARD.common}"
    f"{_BACK.links.format('0,')} UNION ALL {_FORWARD.links.format('1,')}"
)


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
    return _lots(lot_ids, _BACK)


def descendants(lot_ids: Collection[int]) -> set[int]:
    """Every lot made from these, at any depth, and these themselves."""
    return _lots(lot_ids, _FORWARD)


def links_back(lot_ids: Collection[int]) -> list[Link]:
    """The links from these lots back to the first lots that came in."""
    return _links(lot_ids, _BACK)


def links_forward(lot_ids: Collection[int]) -> list[Link]:
    """The links from these lots forward to the last lots made from them."""
    return _links(lot_ids, _FORWARD)


def links_both_ways(lot_id: int) -> tuple[list[Link], list[Link]]:
    """The links back from one lot and forward from it, in one query."""
    rows = sorted(_rows(_BOTH_WAYS % (lot_id, lot_id)))
    back, forward = ([Link._make(row[1:]) for row in rows if row[0] == way] for way in (0, 1))
    return back, forward


def _lots(lot_ids: Collection[int], walk: _Walk) -> set[int]:
    select = f"SELECT lot_id FROM {walk.reached}"  # noqa: S608 -- a name of our own
    return {row[0] for row in _answer(lot_ids, walk, select)}


def _links(lot_ids: Collection[int], walk: _Walk) -> list[Link]:
    rows = _answer(lot_ids, walk, walk.links.format(""))
    rows.sort()  # by operation and posting, whatever the plan; all numbers, so quick
    return [Link._make(row) for row in rows]


def _answer(lot_ids: Collection[int], walk: _Walk, select: str) -> list[tuple[int, ...]]:
    if not lot_ids:
        return []
    seeds = ", ".join(str(int(lot_id)) for lot_id in lot_ids)
    return _rows(f"WITH RECURSIVE {walk.common % seeds} {select}")


def _rows(sql: str) -> list[tuple[int, ...]]:
    """The lots' numbers stand in the statement itself, so that hardly two walks are alike.

    Else PostgreSQL would keep a plan, perhaps from when the book was small and read whole.
    """
    with connection.cursor() as cursor:
        cursor.execute(sql)
        rows: list[tuple[int, ...]] = cursor.fetchall()
        return rows
