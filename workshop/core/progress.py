"""A progress bar for commands."""

import sys
from collections.abc import Iterable, Iterator
from typing import TypeVar

Thing = TypeVar("Thing")


def progress(things: Iterable[Thing], total: int) -> Iterator[Thing]:
    """Yield `things`, redrawing a bar on stderr at each new percent.

    Draws nothing when stderr is not a terminal, so logs and tests stay clean. It writes to the
    real stderr: Django's wrapper would colour it and add a line break each time.
    """
    shown = -1
    for done, thing in enumerate(things, start=1):
        yield thing
        percent = 100 * done // max(total, 1)
        if sys.stderr.isatty() and percent > shown:
            shown = percent
            sys.stderr.write(f"\r{'#' * (percent // 5):<20}{percent:4}%" + "\n" * (done == total))
            sys.stderr.flush()
