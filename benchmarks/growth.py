"""How much longer a link of the family tree takes in a large ledger than in a small one."""

from collections import defaultdict
from collections.abc import Iterable, Iterator

SMALL = 100_000


def growth(walks: Iterable[tuple[str, str, str, float]]) -> Iterator[str]:
    """One line for each database, walk and shape: microseconds a link, small, large, ratio.

    A walk is `(database, "postings/feeds", direction, microseconds)`; sizes below SMALL, whose
    answers are the whole ledger, are left out.
    """
    series: dict[tuple[str, str, str], dict[int, float]] = defaultdict(dict)
    for vendor, part, walk, microseconds in walks:
        size, _, feeds = part.partition("/")
        if int(size) >= SMALL:
            series[vendor, walk, feeds][int(size)] = microseconds
    yield f"\n{'a link of the tree':<44}{'small, µs':>10}{'large, µs':>10}{'growth':>8}"
    for (vendor, walk, feeds), sizes in series.items():
        small, large = min(sizes), max(sizes)
        if small != large:
            name = f"{vendor}: {walk}, feeds {feeds}, {small:,} to {large:,}"
            ratio = sizes[large] / sizes[small]
            yield f"{name:<44}{sizes[small]:10.1f}{sizes[large]:10.1f}{ratio:7.2f} x"
