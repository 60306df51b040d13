"""Times of two ways to do the same work, measured turn by turn."""

import statistics
import time
from collections.abc import Callable, Sequence
from typing import NamedTuple

HEAD = f"{'median, p95':<34}{'the book, ms':>19}{'bare SQL, ms':>19}{'ratio':>16}"


class Times(NamedTuple):
    """Half of the runs took at most `median_ms`, nineteen in twenty at most `p95_ms`."""

    median_ms: float
    p95_ms: float

    def __str__(self) -> str:
        return f"{self.median_ms:10.3f}{self.p95_ms:9.3f}"


class Measurement(NamedTuple):
    """One act of the book and the bare SQL that does the same work."""

    name: str
    ours: Times
    bare: Times

    def __str__(self) -> str:
        median = self.ours.median_ms / self.bare.median_ms
        p95 = self.ours.p95_ms / self.bare.p95_ms
        return f"{self.name:<34}{self.ours}{self.bare}{median:8.2f}{p95:6.2f} x"


def compare(
    name: str, ours: Callable[[], object], bare: Callable[[], object], *, times: int
) -> Measurement:
    """Take turns, so that a busy moment of the machine falls on both alike.

    Each begins every other turn: who comes second finds the pages of the database warm.
    """
    taken: tuple[list[float], list[float]] = ([], [])
    for turn in range(times):
        pair = list(zip((ours, bare), taken, strict=True))
        for work, kept in pair[:: -1 if turn % 2 else 1]:
            began = time.perf_counter()
            work()
            kept.append((time.perf_counter() - began) * 1000)
    return Measurement(name, times_of(taken[0]), times_of(taken[1]))


def times_of(taken: Sequence[float]) -> Times:
    ordered = sorted(taken)
    return Times(statistics.median(ordered), ordered[round(0.95 * (len(ordered) - 1))])
