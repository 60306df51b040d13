"""What lies behind many lots at once, from the links of one query."""

from collections import defaultdict
from collections.abc import Iterable
from contextlib import suppress
from graphlib import CycleError, TopologicalSorter

from workshop.ledger.lot_tree import Link


def lots_behind(links: Iterable[Link]) -> dict[int, frozenset[int]]:
    """For every lot that was made, all lots that went into it, at any depth."""
    sources: dict[int, set[int]] = defaultdict(set)
    for link in links:
        sources[link.product_id].add(link.source_id)
    behind: dict[int, frozenset[int]] = {}
    sorter = TopologicalSorter(sources)
    with suppress(CycleError):  # entry refuses loops; were there one, its lots are left out
        sorter.prepare()
    while ready := sorter.get_ready():
        for lot in ready:
            direct = sources.get(lot, set())
            behind[lot] = frozenset(direct).union(*(behind[source] for source in direct))
        sorter.done(*ready)
    return {lot: behind[lot] for lot in sources if lot in behind}
