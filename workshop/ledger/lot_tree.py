"""The family tree of lots: one recursive query a direction, for both databases but for a hint."""

from collections.abc import Collection
from decimal import Decimal
from typing import NamedTuple

from django.db import connection

# A link is an uncorrected `in` and an uncorrected `out` posting of one operation. A guard of the
# ledger keeps every act to one side but those that make lots of others, so its kind is not read.
# UNION, not UNION ALL: a link is kept once however many routes lead to it, and a lot that (wrongly)
# feeds itself ends the walk instead of looping for ever. The price of gathering the links on the
# way, half of what a second look at every lot would cost, is that the links out of a lot are looked
# up once for each link into it; a lot is seldom reached by more than two.
# Both planners guess far too many rows for the recursive table, and then read the whole ledger:
# SQLite before 3.51 into a Bloom filter, PostgreSQL into a hash. The condition that is always
# true takes the guess away: SQLite believes `likelihood`, PostgreSQL (which gets a function of
# that name from the ledger's migration, and inlines it) that an equality holds for one in 200.
# The unary plus keeps SQLite from the unique index on corrects_id, of which it expects one row
# where nearly every row of the ledger has none; CROSS JOIN keeps it from turning the tables round
# by what it measured when the book was small.
_WALK = """
{walk}(reached, operation, taken, source, took, made, product, gave) AS (
    SELECT id, {none}, {none}, {none}, {none}, {none}, {none}, {none}
    FROM ledger_lot WHERE id IN (%s)
    UNION
    SELECT {far}.lot_id, {near}.operation_id,
        taken.id, taken.lot_id, -taken.quantity, made.id, made.lot_id, made.quantity
    FROM {walk}
    CROSS JOIN ledger_posting AS {near}
    CROSS JOIN ledger_posting AS {far}
    WHERE {near}.lot_id = {walk}.reached AND {near}.side = '{near_side}'
        AND {far}.operation_id = {near}.operation_id AND {far}.side = '{far_side}'
        AND likelihood({walk}.reached - {walk}.reached = 0, 0.00001)
        AND +made.corrects_id IS NULL
        AND +taken.corrects_id IS NULL
        AND NOT EXISTS (SELECT 1 FROM {undoing} WHERE corrects_id = made.id)
        AND NOT EXISTS (SELECT 1 FROM {undoing} WHERE corrects_id = taken.id)
)
"""
_LINKS = """
SELECT {way} operation, taken, source, took, made, product, gave
FROM {walk} WHERE operation IS NOT NULL
"""
# SQLite would look into the unique index on corrects_id, which has a row for every posting; few
# are in this one, so that it stays small in a large ledger.
_UNDOING = {
    "sqlite": "ledger_posting INDEXED BY posting_undoing",
    "postgresql": "ledger_posting",
}


class _Walk(NamedTuple):
    """One direction of the tree: its name, and the links it gathers from the lots at %s."""

    name: str
    common: str


def _walk(name: str, near: str, near_side: str, far: str, far_side: str) -> _Walk:
    common = _WALK.format(
        walk=name,
        near=near,
        near_side=near_side,
        far=far,
        far_side=far_side,
        none="CAST(NULL AS bigint)",
        undoing=_UNDOING[connection.vendor],
    )
    return _Walk(name, common)


def _select(walk: _Walk, way: str = "") -> str:
    return _LINKS.format(walk=walk.name, way=way)


_BACK = _walk("behind", "made", "out", "taken", "in")
_FORWARD = _walk("ahead", "taken", "in", "made", "out")
_BOTH_WAYS = (
    f"WITH RECURSIVE {_BACK.common}, {_FORWARD.common}"
    f"{_select(_BACK, '0,')} UNION ALL {_select(_FORWARD, '1,')}"
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
    return {*lot_ids, *(link.source_id for link in links_back(lot_ids))}


def descendants(lot_ids: Collection[int]) -> set[int]:
    """Every lot made from these, at any depth, and these themselves."""
    return {*lot_ids, *(link.product_id for link in links_forward(lot_ids))}


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


def _links(lot_ids: Collection[int], walk: _Walk) -> list[Link]:
    if not lot_ids:
        return []
    seeds = ", ".join(str(int(lot_id)) for lot_id in lot_ids)
    rows = _rows(f"WITH RECURSIVE {walk.common % seeds} {_select(walk)}")
    rows.sort()  # by operation and posting, whatever the plan; all numbers, so quick
    return [Link._make(row) for row in rows]


def _rows(sql: str) -> list[tuple[int, ...]]:
    """The lots' numbers stand in the statement itself, so that hardly two walks are alike.

    Else PostgreSQL would keep a plan, perhaps from when the book was small and read whole.
    """
    with connection.cursor() as cursor:
        cursor.execute(sql)
        rows: list[tuple[int, ...]] = cursor.fetchall()
        return rows
