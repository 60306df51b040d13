"""Amounts as shares of their whole that add up to exactly 100 %."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from workshop.rules.errors import RuleError

STEP = Decimal("0.0001")
STEPS = 1_000_000  # of which there are so many in 100 %


def whole_shares(amounts: Sequence[Decimal]) -> list[Decimal]:
    """Return each amount in percent of their sum, to four decimals; together exactly 100.

    What rounding down leaves over goes, a step each, to those that lost most by it.

    Units: `amounts` all in one unit; percent. Error: below 0.0001 % each.
    Source: the method of largest remainders (common practice, no source).
    Raises: RuleError for nothing, or an amount that is not above zero.

    >>> whole_shares([Decimal(1), Decimal(1), Decimal(1)])
    [Decimal('33.3334'), Decimal('33.3333'), Decimal('33.3333')]
    >>> whole_shares([Decimal(30), Decimal(20)])
    [Decimal('60.0000'), Decimal('40.0000')]
    """
    if not amounts or any(amount <= 0 for amount in amounts):
        raise RuleError("Every amount must be above zero.")
    total = sum(map(Fraction, amounts), Fraction())
    exact = [Fraction(amount) * STEPS / total for amount in amounts]
    steps = [int(share) for share in exact]
    by_loss = sorted(range(len(exact)), key=lambda at: (steps[at] - exact[at], at))
    for at in by_loss[: STEPS - sum(steps)]:
        steps[at] += 1
    return [count * STEP for count in steps]
