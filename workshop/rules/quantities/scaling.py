"""A formula to a kettle: how much in all, how much of each line, and from which lots."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import TypeVar

from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import Exact, ceil_to, round_to

Key = TypeVar("Key", int, str)
MILLIGRAM_G = Decimal("0.001")


def batch_weight_g(
    units: int, fill_g: Decimal, loss_share: Exact, *, division_g: Decimal = MILLIGRAM_G
) -> Decimal:
    """Return what must go into the kettle to fill `units` after the expected loss.

    Units: g; `loss_share` is a fraction of what goes in (0.03 for 3 %).
    Error: never too little; at most one `division_g` too much.
    Source: common practice, no source: units x fill / (1 - loss).
    Raises: RuleError when units or fill are not above zero, or the loss is not from 0 to under 1.

    >>> batch_weight_g(40, Decimal(60), Decimal("0.03"), division_g=Decimal("0.5"))
    Decimal('2474.5')
    """
    if units <= 0 or fill_g <= 0:
        raise RuleError("The number of units and the fill must be above zero.")
    if not 0 <= loss_share < 1:
        raise RuleError("The expected loss must be from 0 to less than 100 per cent.")
    return ceil_to(units * Fraction(fill_g) / (1 - Fraction(loss_share)), division_g)


def apportion(total: Decimal, parts: Sequence[Exact], step: Decimal) -> list[Decimal]:
    """Share `total` out in proportion to `parts`, losing nothing.

    Units: `total` and `step` in one unit; `parts` have none.
    Error: each share is less than one step from its exact value; their sum has none.
    Source: largest-remainder (Hamilton) apportionment; ties go to the earlier part.
    Raises: RuleError if the total is not a whole number of steps or is below zero, a part is
        below zero, or the parts add up to nothing.

    >>> apportion(Decimal(1000), [1, 1, 1], Decimal(1))
    [Decimal('334'), Decimal('333'), Decimal('333')]
    >>> apportion(Decimal(10), [70, Decimal("29.5"), Decimal("0.5")], Decimal("0.5"))
    [Decimal('7.0'), Decimal('3.0'), Decimal('0.0')]
    """
    weights = [Fraction(part) for part in parts]
    whole = sum(weights, Fraction())
    if whole <= 0 or min(weights) < 0:
        raise RuleError("The shares must not be below zero, and must add up to more than zero.")
    steps = Fraction(total) / Fraction(step)
    if steps < 0 or steps.denominator != 1:
        raise RuleError(f"The total must be a whole number of steps of {step}.")
    exact = [steps * weight / whole for weight in weights]
    given = [int(share) for share in exact]
    by_remainder = sorted(range(len(exact)), key=lambda line: given[line] - exact[line])
    for line in by_remainder[: int(steps) - sum(given)]:
        given[line] += 1
    return [share * step for share in given]


def scale_formula(shares: Sequence[Exact], total_g: Decimal, division_g: Decimal) -> list[Decimal]:
    """Return the weight of each line at the scale's division, adding up to `total_g` exactly.

    Units: shares in per cent, adding up to exactly 100; g.
    Error: each weight is less than one division from its exact value; the sum has none.
    Source: largest-remainder apportionment.
    Raises: RuleError when the shares are not 100 in all, the total is not above zero, or the
        total is not a whole number of divisions.

    >>> scale_formula([81, Decimal("11.5"), Decimal("7.5")], Decimal(46), Decimal("0.5"))
    [Decimal('37.0'), Decimal('5.5'), Decimal('3.5')]
    """
    whole = sum((Fraction(share) for share in shares), Fraction())
    if whole != 100:
        shown = round_to(whole, Decimal("0.0001"))
        raise RuleError(f"The shares of the formula add up to {shown} %, not 100 %.")
    if total_g <= 0:
        raise RuleError("The batch weight must be above zero.")
    if total_g != round_to(total_g, division_g):
        nearest = ceil_to(total_g, division_g)
        raise RuleError(
            f"The scale reads in steps of {division_g} g, so the batch cannot weigh {total_g} g. "
            f"{nearest} g would do."
        )
    return apportion(total_g, shares, division_g)
