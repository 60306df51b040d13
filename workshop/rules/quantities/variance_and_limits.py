"""How weights spread: mean, variance and roots, exactly, and the limits of a control chart."""

from collections.abc import Sequence
from decimal import ROUND_HALF_EVEN, Decimal, localcontext
from fractions import Fraction
from itertools import pairwise

from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import Exact

MICROGRAM_G = Decimal("0.000001")
# 3 / 1.128 for a moving range of two (Shewhart's individuals chart; from memory).
MOVING_RANGE_FACTOR = Decimal("2.66")


def mean_and_variance(values: Sequence[Exact]) -> tuple[Fraction, Fraction]:
    """Return the mean and the sample variance (n - 1), exactly; no variance for a single value.

    >>> mean_and_variance([1, 2, 3])
    (Fraction(2, 1), Fraction(1, 1))
    """
    if not values:
        raise RuleError("There is nothing to take the average of. Weigh at least one.")
    exact = [Fraction(value) for value in values]
    mean = sum(exact, Fraction()) / len(exact)
    squares = sum(((value - mean) ** 2 for value in exact), Fraction())
    return mean, squares / max(1, len(exact) - 1)


def root(square: Fraction, rounding: str = ROUND_HALF_EVEN) -> Decimal:
    """Return the square root to a microgram (for a variance in g²).

    >>> root(Fraction(2))
    Decimal('1.414214')
    """
    with localcontext(prec=40):
        exact = (Decimal(square.numerator) / Decimal(square.denominator)).sqrt()
        return exact.quantize(MICROGRAM_G, rounding=rounding)


def control_limits_g(contents_g: Sequence[Exact]) -> tuple[Fraction, Fraction, Fraction]:
    """Return the middle and the two limits of a control chart of single fills, in pouring order.

    Units: g. Error: none. Source: Shewhart's chart for individuals: mean ± 2.66 x the mean
        difference of neighbours (from memory).
    Raises: RuleError with fewer than two fills.

    >>> [str(g) for g in control_limits_g([30, 31, 30, 31])]
    ['61/2', '696/25', '829/25']
    """
    if len(contents_g) < 2:
        raise RuleError("A control chart needs at least two fills.")
    values = [Fraction(net) for net in contents_g]
    mean, _ = mean_and_variance(values)
    steps = [abs(after - before) for before, after in pairwise(values)]
    reach = Fraction(MOVING_RANGE_FACTOR) * sum(steps, Fraction()) / len(steps)
    return mean, mean - reach, mean + reach
