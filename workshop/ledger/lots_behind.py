"""What lies behind some lots, read once for all who ask about it."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from workshop.ledger.lot_tree import Link, links_back
from workshop.ledger.models import Lot, LotQuerySet
from workshop.ledger.strained_out import Strained, strained_out


@dataclass(frozen=True)
class LotsBehind:
    """The links back from some lots, every lot on the way, and what was strained out again."""

    links: Sequence[Link]
    lots: Mapping[int, Lot]
    strained: Strained


def lots_behind(lot_ids: Collection[int], rows: LotQuerySet) -> LotsBehind:
    """Read it in three queries and whatever `rows` brings along with a lot."""
    links = links_back(lot_ids)
    known = rows.in_bulk({*lot_ids, *(link.source_id for link in links)})
    return LotsBehind(links, known, strained_out({link.operation_id for link in links}))
