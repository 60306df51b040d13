"""How much longer a link of the family tree takes in a large ledger than in a small one.

Two processes hold a ledger each and are asked turn by turn, so that a slow minute of the machine
falls on both alike.
"""

import json
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Iterator
from itertools import cycle

from benchmarks.family import Links, questions
from benchmarks.shape import fill

TURNS = 120
FEW = 3  # a ledger of 100,000 has hardly more lots of the greatest depth; as many of each walk
AGAIN = 3
CACHE_LINE = 64
OTHER = bytearray(96 * 1024 * 1024)
HEAD = f"\n{'a link of the tree':<62}{'small, µs':>10}{'large, µs':>10}{'growth':>9}"
Answer = dict[str, float]  # microseconds a link, by the name of the walk


def growth(vendor: str, feeds: int, small: int, large: int) -> Iterator[str]:
    """One line for each walk: microseconds a link in the small and the large ledger, and ratio."""
    with _book(vendor, small, feeds) as first, _book(vendor, large, feeds) as second:
        turns = [(_turn(first), _turn(second)) for _ in range(TURNS)]
    for walk in turns[0][0]:
        few, many = (statistics.median(turn[which][walk] for turn in turns) for which in (0, 1))
        name = f"{vendor}: {walk}, feeds {feeds}, {small:,} to {large:,}"
        yield f"{name:<62}{few:10.2f}{many:10.2f}{many / few:7.2f} x"


def serve(size: int, feeds: int) -> None:
    """Fill a ledger, then answer each line that comes in with one turn of questions."""
    walks = {
        name: (links, cycle(lots[:FEW]))
        for name, links, lots in questions(fill(size, popular_feeds=feeds), feeds)
    }
    for _ in sys.stdin:
        taken: Answer = {}
        for name, (links, lots) in walks.items():
            taken |= ask(name, links, next(lots))
        print(json.dumps(taken), flush=True)


def ask(name: str, links: Links, lot: int) -> Answer:
    """Out of the blue, when other work has emptied the processor's caches, and again."""
    other_work()
    taken = []
    for _ in range(1 + AGAIN):
        began = time.perf_counter()
        found = links([lot])
        taken.append((time.perf_counter() - began) * 1_000_000 / len(found))
    return {name: taken[0], f"{name} again": statistics.median(taken[1:])}


def other_work() -> None:
    """Write more than the caches of the processor hold.

    Else a small ledger would lie in them whole, and a large one would be held against the speed
    of the memory.
    """
    OTHER[::CACHE_LINE] = bytes(len(OTHER) // CACHE_LINE)


def _book(vendor: str, size: int, feeds: int) -> "subprocess.Popen[str]":
    """A process with a database of its own, that fills it and then waits for questions.

    No plan is kept there: few lots are asked for so often that PostgreSQL would keep theirs.
    """
    own = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    own["TAREBOOK_POOLED"] = "1"
    command = [sys.executable, "-m", "benchmarks", vendor, f"serve/{size}/{feeds}"]
    pipe = subprocess.PIPE
    return subprocess.Popen(command, stdin=pipe, stdout=pipe, text=True, env=own)  # noqa: S603  ourselves


def _turn(book: "subprocess.Popen[str]") -> Answer:
    if book.stdin is None or book.stdout is None:
        raise ValueError("This book cannot be asked.")
    print("go", file=book.stdin, flush=True)
    answer: Answer = json.loads(book.stdout.readline())
    return answer
