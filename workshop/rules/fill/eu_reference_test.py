"""The EU inspector's reference test of a lot: how many packs, and how many may be short."""

from dataclasses import dataclass
from decimal import Decimal

from workshop.rules.errors import RuleError

WHOLE_LOT_BELOW = 100
MOST_IN_A_LOT = 10_000
# Directive 76/211/EEC, Annex II, from memory: lot up to -> packs weighed, packs that may be
# below T1 (single sampling, nothing opened), packs in the average, factor of s. Each factor
# agrees with t(0.995; n-1) / sqrt(n) to 0.001.
PLANS = (
    (500, 50, 3, 30, Decimal("0.503")),
    (3200, 80, 5, 50, Decimal("0.379")),
    (MOST_IN_A_LOT, 125, 7, 50, Decimal("0.379")),
)


@dataclass(frozen=True)
class ReferenceTest:
    """How many packs are weighed and may be below T1; none may be below T2.

    The average of `average_of` packs must reach the nominal content less `factor` times their
    standard deviation; the factor is None where the whole lot is weighed.
    """

    sample_size: int
    allowed_short: int
    average_of: int
    factor: Decimal | None


def reference_test_eu(lot_size: int) -> ReferenceTest:
    """Return the reference test of a lot of so many packs, none of them opened.

    Units: packs. Error: none.
    Source: Directive 76/211/EEC, Annex II, 2.1 to 2.3 (from memory; see `PLANS`): below 100
        packs all are weighed, of which 2.5 % may be short (Annex I, 1.2).
    Raises: RuleError when there is no pack, or more than the 10 000 that make up a lot.

    >>> reference_test_eu(300)
    ReferenceTest(sample_size=50, allowed_short=3, average_of=30, factor=Decimal('0.503'))
    """
    if not 1 <= lot_size <= MOST_IN_A_LOT:
        raise RuleError("The EU reference test covers lots of 1 to 10 000 packs.")
    if lot_size < WHOLE_LOT_BELOW:
        return ReferenceTest(lot_size, lot_size * 25 // 1000, lot_size, None)
    for up_to, size, allowed, average_of, factor in PLANS:
        if lot_size <= up_to:
            return ReferenceTest(size, allowed, average_of, factor)
    raise AssertionError(lot_size)
