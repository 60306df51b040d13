"""In which order the lines of a formula go into the kettle, and what speaks against an order.

Common practice, no source: a kettle is heated once and cools from then on, so what needs most heat
goes in first and what heat harms goes in last. Within one phase, what can still be corrected goes
before what cannot be removed once added, and what melts highest before what melts lower.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True)
class GoingIn:
    """One line as far as its order matters; temperatures in °C, None where nothing is known.

    `at_most_c` is what heat harms it above; `needs_c` what the kettle must reach for it.
    """

    name: str
    phase: str
    is_for_good: bool = False
    melts_from_c: Decimal | None = None
    melts_to_c: Decimal | None = None
    needs_c: Decimal | None = None
    at_most_c: Decimal | None = None


def order_warnings(lines: Sequence[GoingIn]) -> list[str]:
    """Return a sentence for each line that goes in too early, at most one a kind of fault.

    Units: °C. Error: none.
    Source: common practice, none (see the module).
    Raises: nothing.

    >>> wax = GoingIn("Wax", "A", is_for_good=True, needs_c=Decimal(68))
    >>> scent = GoingIn("Scent", "C", at_most_c=Decimal(58))
    >>> order_warnings([wax, scent])
    []
    >>> order_warnings([scent, wax])[0]
    'Scent goes in at 58 °C at most, but Wax after it needs 68 °C: what heat harms goes in last.'
    """
    found = []
    for place, line in enumerate(lines):
        later = lines[place + 1 :]
        found += [*_too_hot(line, later), *_too_early(line, later), *_melts_lower(line, later)]
    return found


def _too_hot(line: GoingIn, later: Sequence[GoingIn]) -> Iterator[str]:
    most = line.at_most_c
    if most is None:
        return
    hotter = next((one for one in later if one.needs_c is not None and one.needs_c > most), None)
    if hotter:
        yield (
            f"{line.name} goes in at {_c(most)} at most, but {hotter.name} after it needs "
            f"{_c(hotter.needs_c)}: what heat harms goes in last."
        )


def _too_early(line: GoingIn, later: Sequence[GoingIn]) -> Iterator[str]:
    correctable = next((one for one in _together(line, later) if not one.is_for_good), None)
    if line.is_for_good and correctable:
        yield (
            f"{line.name} is weighed before {correctable.name} of the same phase, which could be "
            "corrected: within its phase, what cannot be removed once added goes late."
        )


def _melts_lower(line: GoingIn, later: Sequence[GoingIn]) -> Iterator[str]:
    molten = line.melts_to_c
    if molten is None:
        return
    alike = (one for one in _together(line, later) if one.is_for_good == line.is_for_good)
    for one in alike:
        if one.melts_from_c is not None and one.melts_from_c > molten:
            yield (
                f"{line.name} is molten at {_c(molten)} and goes in before {one.name}, which "
                f"begins to melt at {_c(one.melts_from_c)}: what melts highest goes first."
            )
            return


def _together(line: GoingIn, later: Sequence[GoingIn]) -> list[GoingIn]:
    return [one for one in later if one.phase == line.phase]


def _c(degrees: Decimal | None) -> str:
    return "" if degrees is None else f"{degrees.normalize():f} °C"
