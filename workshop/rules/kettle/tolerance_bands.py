"""How far one line may be off its new target, once a kettle was rebalanced."""

from collections.abc import Sequence
from fractions import Fraction

from workshop.rules.errors import RuleError
from workshop.rules.kettle.rebalance import KettleLine
from workshop.rules.quantities.units import Exact


def band_g(
    lines: Sequence[KettleLine], weights_g: Sequence[Exact], place: int
) -> tuple[Fraction, Fraction]:
    """Return the least and the most that line `place` may come to, all others at their weights.

    Whatever it comes to in between, its own share and every other share stay within tolerance:
    too little of one line makes too much of another.

    Units: g, `weights_g` being what each line is to come to in the end.
    Error: none, fractions throughout.
    Source: the conditions of `least_addition`, solved for one weight.
    Raises: RuleError when the weights themselves are not within tolerance.

    >>> oil = KettleLine("oil", 80, Fraction(2, 100), 800)
    >>> wax = KettleLine("wax", 20, Fraction(2, 100), 200)
    >>> [round(float(g), 2) for g in band_g([oil, wax], [800, 200], 1)]
    [195.02, 205.03]
    """
    others = sum((Fraction(g) for i, g in enumerate(weights_g) if i != place), Fraction())
    least, most = [Fraction()], []
    for i, (line, weight) in enumerate(zip(lines, weights_g, strict=True)):
        low, high = line.least_share, line.most_share
        if i == place:
            least.append(low * others / (1 - low) if low < 1 else Fraction())
            most += [high * others / (1 - high)] if high < 1 else []
        else:
            least += [Fraction(weight) / high - others] if high else []
            most += [Fraction(weight) / low - others] if low else []
    mine = Fraction(weights_g[place])
    top = min(most, default=mine)
    if not max(least) <= mine <= top:
        raise RuleError("These weights are not within the tolerances, so there is no band.")
    return max(least), top
