"""Median times of two ways to do the same work, measured turn by turn."""

import statistics
import time
from collections.abc import Callable
from typing import NamedTuple


class Measurement(NamedTuple):
    """One act of the book and the bare SQL that does the same work, in milliseconds."""

    name: str
    ours_ms: float
    bare_ms: float

    def __str__(self) -> str:
        ratio = self.ours_ms / self.bare_ms
        return f"{self.name:<34}{self.ours_ms:>9.3f} ms{self.bare_ms:>9.3f} ms{ratio:>8.1f} x"


def compare(
    name: str, ours: Callable[[], object], bare: Callable[[], object], *, times: int
) -> Measurement:
    """Take turns, so that a busy moment of the machine falls on both alike."""
    taken: tuple[list[float], list[float]] = ([], [])
    for _ in range(times):
        for work, kept in zip((ours, bare), taken, strict=True):
            began = time.perf_counter()
            work()
            kept.append((time.perf_counter() - began) * 1000)
    return Measurement(name, statistics.median(taken[0]), statistics.median(taken[1]))
