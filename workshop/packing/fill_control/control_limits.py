"""Signs in a control chart that a pour was not steady."""

from collections.abc import Sequence
from fractions import Fraction
from statistics import median

from workshop.rules.quantities.variance_and_limits import control_limits_g

# So many in a row on one side (Western Electric's fourth rule, from memory). Held against the
# median, as in a run chart: one pack far off would pull the average away from all others.
LONGEST_RUN = 8


def drifts(contents_g: Sequence[Fraction]) -> list[int]:
    """Which fills, counted from nought, lie beyond the limits or end a long run on one side."""
    if len(contents_g) < 2:
        return []
    _, low, high = control_limits_g(contents_g)
    middle = Fraction(median(contents_g))
    beyond = {n for n, grams in enumerate(contents_g) if not low <= grams <= high}
    return sorted(beyond | _long_runs([grams - middle for grams in contents_g]))


def _long_runs(off: Sequence[Fraction]) -> set[int]:
    found: set[int] = set()
    length, side = 0, 0
    for place, distance in enumerate(off):
        now = (distance > 0) - (distance < 0)
        length = length + 1 if now and now == side else int(now != 0)
        side = now
        if length >= LONGEST_RUN:
            found.add(place)
    return found
