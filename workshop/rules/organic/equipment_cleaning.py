"""Whether a kettle was cleaned between what is not organic and what is."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class Run:
    """One use of a kettle: from the first weighing to the last thing that was poured."""

    kettle: int
    reference: str
    is_organic: bool
    began: datetime
    ended: datetime


@dataclass(frozen=True)
class Uncleaned:
    """An organic run that followed another one, and nobody wrote a cleaning down between."""

    run: Run
    before: Run


def uncleaned(runs: Iterable[Run], cleaned: Iterable[tuple[int, datetime]]) -> Iterator[Uncleaned]:
    """Yield every organic run without a cleaning since the run in its kettle that was not organic.

    `cleaned` are kettles with the moment of each cleaning.

    Units: moments. Error: none. Raises: nothing.
    Source: 7 CFR 205.272(a): no commingling, no contact with what is prohibited; that a cleaning is
        written down between the two is common practice, no source.

    >>> from datetime import datetime as at
    >>> runs = [Run(1, "K-1", False, at(2026, 1, 1), at(2026, 1, 2)),
    ...     Run(1, "K-2", True, at(2026, 1, 4), at(2026, 1, 5))]
    >>> [one.before.reference for one in uncleaned(runs, [(1, at(2026, 1, 1, 12))])]
    ['K-1']
    >>> list(uncleaned(runs, [(1, at(2026, 1, 3))]))
    []
    """
    moments: dict[int, list[datetime]] = {}
    for kettle, moment in cleaned:
        moments.setdefault(kettle, []).append(moment)
    last: dict[int, Run] = {}
    for run in sorted(runs, key=lambda each: (each.began, each.reference)):
        before = last.get(run.kettle)
        if before and run.is_organic and not before.is_organic:
            between = (before.ended <= one <= run.began for one in moments.get(run.kettle, ()))
            if not any(between):
                yield Uncleaned(run, before)
        last[run.kettle] = run
