"""A progress bar for commands."""

import sys
from collections.abc import Iterable, Iterator
from typing import Protocol, TypeVar

Thing = TypeVar("Thing")


class ProgressWatch(Protocol):
    """Yields the things it is given and may tell how far it is."""

    def __call__(self, things: Iterable[Thing], total: int, /) -> Iterable[Thing]: ...


def unwatched(things: Iterable[Thing], _total: int, /) -> Iterable[Thing]:
    return things


def progress(things: Iterable[Thing], total: int, /) -> Iterator[Thing]:
    """Yield `things`, redrawing a bar on stderr at each new percent.

    Draws nothing when stderr is not a terminal, so logs and tests stay clean. It writes to the
    real stderr: Django's wrapper would colour it and add a line break each time.
    """
    shown = -1
    for done, thing in enumerate(things, start=1):
        yield thing
        percent = 100 * done // max(total, 1)
        if percent > shown and sys.stderr.isatty():
            shown = percent
            sys.stderr.write(f"\r{'#' * (percent // 5):<20}{percent:4}%" + "\n" * (done == total))
            sys.stderr.flush()
