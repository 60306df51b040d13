"""A kettle that went wrong: the least to add so that every share is back within tolerance.

With the final weight T of the kettle fixed, each line only needs to lie between two bounds, and
the lines fit together when the sum of the lower bounds is at most T and the sum of the upper
ones at least T. Both sums are straight between a few known weights, so the linear programme in
many unknowns is a search for the least T along one line, done in exact fractions.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import Exact, ceil_to, show_mass

# Beyond this many steps of the scale above the least weight, no rounding will ever fit.
MOST_STEPS = 20_000


@dataclass(frozen=True)
class KettleLine:
    """One line of the formula: its share, and what of it is in the kettle and in stock.

    `tolerance` is a fraction of the share; `stock_g` is what may still be added (None: enough).
    """

    name: str
    share_percent: Exact
    tolerance: Exact
    in_kettle_g: Exact
    stock_g: Exact | None = None
    division_g: Decimal = Decimal("0.5")

    @property
    def share(self) -> Fraction:
        return Fraction(self.share_percent) / 100

    @property
    def least_share(self) -> Fraction:
        return max(Fraction(), self.share * (1 - Fraction(self.tolerance)))

    @property
    def most_share(self) -> Fraction:
        return self.share * (1 + Fraction(self.tolerance))

    @property
    def weight_g(self) -> Fraction:
        return Fraction(self.in_kettle_g)

    def bounds_g(self, total_g: Fraction) -> tuple[Fraction, Fraction]:
        """The least and the most that may be in a kettle of `total_g` in the end."""
        most = self.most_share * total_g
        if self.stock_g is not None:
            most = min(most, self.weight_g + Fraction(self.stock_g))
        return max(self.least_share * total_g, self.weight_g), most


def least_addition(lines: Sequence[KettleLine], capacity_g: Exact) -> list[Fraction]:
    """Return the least that must be added of each line to bring every share within tolerance.

    The least in all; between lines it is spread so that each comes as near its share as its
    bounds let it, all by the same factor.

    Units: g, exactly. Error: none, fractions throughout.
    Source: the least T of the linear programme min sum(a), with a >= 0, a <= stock and
        f(1-t) T <= w + a <= f(1+t) T; checked against SciPy's linprog.
    Raises: RuleError when no addition will do, saying what stands in the way.

    >>> oil = KettleLine("oil", 80, Decimal("0.02"), 800)
    >>> wax = KettleLine("wax", 20, Decimal("0.02"), 230)
    >>> [str(round(g, 2)) for g in map(float, least_addition([oil, wax], 5000))]
    ['97.45', '0.0']
    """
    _check(lines)
    total = _least_total(lines, Fraction(capacity_g))
    if total is None:
        raise RuleError(_obstacle(lines, Fraction(capacity_g)))
    return [x - line.weight_g for x, line in zip(_spread(lines, total), lines, strict=True)]


def weighable_addition(lines: Sequence[KettleLine], capacity_g: Exact) -> list[Decimal]:
    """Return the least to add of each line that can be weighed and still meets every tolerance.

    Units: g, each a whole number of the line's `division_g`.
    Error: none: the shares with these very weights are within tolerance.
    Source: as `least_addition`. Each division must be a whole multiple of the finest.
    Raises: as `least_addition`; and RuleError when no weighable addition fits.

    >>> oil = KettleLine("oil", 80, Decimal("0.02"), 800)
    >>> wax = KettleLine("wax", 20, Decimal("0.02"), 230)
    >>> weighable_addition([oil, wax], 5000)
    [Decimal('97.5'), Decimal('0.0')]
    """
    exact = least_addition(lines, capacity_g)
    start = sum(exact, Fraction())
    for steps in _totals_to_try(lines, start, Fraction(capacity_g)):
        counts = _counts(lines, steps)
        if counts is not None:
            return [n * line.division_g for n, line in zip(counts, lines, strict=True)]
    raise RuleError(
        "Nothing that this scale can weigh brings every line within its tolerance. "
        "Use a finer scale for the small lines, or make a larger batch."
    )


def full_restoration(lines: Sequence[KettleLine], capacity_g: Exact) -> list[Fraction]:
    """Return what must be added of each line to bring every share back to the formula exactly.

    Units: g, exactly. Error: none. Source: as `least_addition`, with no tolerance.
    Raises: as `least_addition`.

    >>> oil = KettleLine("oil", 80, Decimal("0.02"), 800)
    >>> full_restoration([oil, KettleLine("wax", 20, Decimal("0.02"), 230)], 5000)
    [Fraction(120, 1), Fraction(0, 1)]
    """
    return least_addition([replace(line, tolerance=0) for line in lines], capacity_g)


def shares_with(lines: Sequence[KettleLine], additions_g: Sequence[Exact]) -> list[Fraction]:
    """Return the share of each line once `additions_g` are in; zeros for "accept as it is".

    Units: g in, fractions of the whole out. Error: none. Source: none needed.
    Raises: RuleError when the kettle would hold nothing.

    >>> oil = KettleLine("oil", 80, Decimal("0.02"), 800)
    >>> shares_with([oil, KettleLine("wax", 20, Decimal("0.02"), 200)], [0, 0])
    [Fraction(4, 5), Fraction(1, 5)]
    """
    weights = [line.weight_g + Fraction(a) for line, a in zip(lines, additions_g, strict=True)]
    total = sum(weights, Fraction())
    if total <= 0:
        raise RuleError("There is nothing in the kettle yet.")
    return [weight / total for weight in weights]


def out_of_tolerance(lines: Sequence[KettleLine], additions_g: Sequence[Exact]) -> list[str]:
    """Return the names of the lines whose share would be outside its tolerance.

    Units: g. Error: none. Source: as `least_addition`. Raises: as `shares_with`.

    >>> oil = KettleLine("oil", 80, Decimal("0.02"), 800)
    >>> out_of_tolerance([oil, KettleLine("wax", 20, Decimal("0.02"), 230)], [0, 0])
    ['oil', 'wax']
    """
    shares = shares_with(lines, additions_g)
    return [
        line.name
        for line, share in zip(lines, shares, strict=True)
        if not line.least_share <= share <= line.most_share
    ]


def share_to_keep(lines: Sequence[KettleLine], capacity_g: Exact) -> Fraction:
    """Return how much of the melt to keep so that the least addition fits kettle and stock.

    The rest is split off, well mixed, into a lot of its own. 1 means that nothing need be.

    Units: fraction of what is in the kettle. Error: never too much; it may be a little less than
        the most when stock is short, because the additions keep their proportions.
    Source: every weight of the linear programme scales with the melt.
    Raises: RuleError as `least_addition` when no splitting helps.

    >>> oil = KettleLine("oil", 80, Decimal("0.02"), 800)
    >>> share_to_keep([oil, KettleLine("wax", 20, Decimal("0.02"), 300)], 1000)
    Fraction(17, 25)
    """
    _check(lines)
    unlimited = [replace(line, stock_g=None) for line in lines]
    additions = least_addition(unlimited, _restored_total(lines))
    total = sum((line.weight_g for line in lines), Fraction()) + sum(additions, Fraction())
    if total == 0:
        raise RuleError("There is nothing in the kettle yet.")
    limits = [Fraction(1), Fraction(capacity_g) / total]
    for line, addition in zip(lines, additions, strict=True):
        if line.stock_g is not None and addition > 0:
            limits.append(Fraction(line.stock_g) / addition)
    return min(limits)


def _check(lines: Sequence[KettleLine]) -> None:
    if sum((line.share for line in lines), Fraction()) != 1:
        raise RuleError("The shares of the formula do not add up to 100 %.")
    if any(line.tolerance < 0 or line.weight_g < 0 or line.share < 0 for line in lines):
        raise RuleError("Shares, tolerances and weights cannot be below zero.")
    if any(line.stock_g is not None and line.stock_g < 0 for line in lines):
        raise RuleError("What is in stock to add cannot be below zero.")
    for line in lines:
        if line.weight_g and not line.share:
            raise RuleError(
                f"{line.name} is in the kettle and not in the formula, so no addition can "
                "restore the formula. Accept the batch as it is, or discard it."
            )


def _restored_total(lines: Sequence[KettleLine]) -> Fraction:
    """Return the weight at which every share can be exact; enough for any rebalancing."""
    return max(line.weight_g / line.share for line in lines if line.share)


def _least_total(lines: Sequence[KettleLine], capacity_g: Fraction) -> Fraction | None:
    """Return the least final weight of the kettle at which the lines fit together."""
    in_kettle = sum((line.weight_g for line in lines), Fraction())
    lowest = max([in_kettle] + [li.weight_g / li.most_share for li in lines if li.weight_g])
    turns = {t for line in lines for t in _turns(line) if lowest < t < capacity_g}
    if lowest > capacity_g:
        return None
    points = [lowest, *sorted(turns), capacity_g]
    if len(points) == 2 and lowest == capacity_g:
        return lowest if min(_room(lines, lowest)) >= 0 else None
    for left, right in pairwise(points):
        first = _first_fit(left, right, _room(lines, left), _room(lines, right))
        if first is not None:
            return first
    return None


def _turns(line: KettleLine) -> Iterator[Fraction]:
    """Yield the final weights at which a bound of the line changes its slope."""
    if line.least_share:
        yield line.weight_g / line.least_share
    if line.stock_g is not None and line.most_share:
        yield (line.weight_g + Fraction(line.stock_g)) / line.most_share
    if line.stock_g is not None and line.least_share:
        yield (line.weight_g + Fraction(line.stock_g)) / line.least_share


def _room(lines: Sequence[KettleLine], total_g: Fraction) -> list[Fraction]:
    """Return by how much each condition is met at this final weight; below zero if it is not."""
    bounds = [line.bounds_g(total_g) for line in lines]
    under = total_g - sum((least for least, _ in bounds), Fraction())
    over = sum((most for _, most in bounds), Fraction()) - total_g
    return [under, over, *(most - least for least, most in bounds)]


def _first_fit(
    left: Fraction, right: Fraction, at_left: list[Fraction], at_right: list[Fraction]
) -> Fraction | None:
    """Return the first point of a stretch at which every condition, straight on it, is met."""
    first, last = left, right
    for a, b in zip(at_left, at_right, strict=True):
        if a < 0 and b < 0:
            return None
        if a < 0 or b < 0:
            crossing = left + (right - left) * a / (a - b)
            first, last = (max(first, crossing), last) if a < 0 else (first, min(last, crossing))
    return first if first <= last else None


def _spread(lines: Sequence[KettleLine], total_g: Fraction) -> list[Fraction]:
    """Return final weights within the bounds that add up, all by one factor of their shares."""
    bounds = [line.bounds_g(total_g) for line in lines]

    def weights(factor: Fraction) -> list[Fraction]:
        wanted = (factor * line.share for line in lines)
        return [min(max(w, least), most) for w, (least, most) in zip(wanted, bounds, strict=True)]

    turns = sorted(
        {b / li.share for li, pair in zip(lines, bounds, strict=True) if li.share for b in pair}
    )
    sums = [sum(weights(turn), Fraction()) for turn in turns]
    place = next((i for i, reached in enumerate(sums) if reached >= total_g), len(turns) - 1)
    if place == 0 or sums[place] == sums[place - 1]:
        return weights(turns[place])
    slope = (turns[place] - turns[place - 1]) / (sums[place] - sums[place - 1])
    return weights(turns[place - 1] + (total_g - sums[place - 1]) * slope)


def _obstacle(lines: Sequence[KettleLine], capacity_g: Fraction) -> str:
    """Say in a sentence why no addition will do."""
    unlimited = [replace(line, stock_g=None) for line in lines]
    needed = _least_total(unlimited, _restored_total(lines))
    if needed is not None and needed > capacity_g:
        return (
            f"The kettle would have to hold {show_mass(ceil_to(needed, Decimal(1)))}, and it "
            f"holds {show_mass(capacity_g)}. Split off part of the melt first."
        )
    additions = least_addition(unlimited, capacity_g)
    short = [
        f"{line.name} ({show_mass(ceil_to(a - Fraction(line.stock_g), Decimal('0.001')))} short)"
        for line, a in zip(lines, additions, strict=True)
        if line.stock_g is not None and a > line.stock_g
    ]
    return f"There is not enough in stock to rebalance: {', '.join(short)}."


def _totals_to_try(
    lines: Sequence[KettleLine], least_g: Fraction, capacity_g: Fraction
) -> Iterator[Decimal]:
    """Yield sums of additions in steps of the finest division, from the least one upward."""
    finest = min(line.division_g for line in lines)
    if any(Fraction(line.division_g) % Fraction(finest) for line in lines):
        raise RuleError("The scales' divisions must be whole multiples of the finest one.")
    room = capacity_g - sum((line.weight_g for line in lines), Fraction())
    first = ceil_to(least_g, finest)
    for step in range(MOST_STEPS):
        total = first + step * finest
        if total > room:
            return
        yield total


def _counts(lines: Sequence[KettleLine], added_g: Decimal) -> list[int] | None:
    """Return how many divisions of each line to add so that they make `added_g` within bounds."""
    total = sum((line.weight_g for line in lines), Fraction(added_g))
    ranges = []
    for line in lines:
        least, most = line.bounds_g(total)
        step = Fraction(line.division_g)
        ranges.append((-((line.weight_g - least) // step), (most - line.weight_g) // step))
    if not _within_sums(lines, added_g, ranges):
        return None
    near = [round((x - line.weight_g) / Fraction(line.division_g))
            for x, line in zip(_spread(lines, total), lines, strict=True)]  # fmt: skip
    near = [min(max(n, least), most) for n, (least, most) in zip(near, ranges, strict=True)]
    least_counts = [least for least, _ in ranges]
    return _made_up(lines, added_g, near, ranges) or _made_up(lines, added_g, least_counts, ranges)


def _within_sums(
    lines: Sequence[KettleLine], added_g: Decimal, ranges: list[tuple[int, int]]
) -> bool:
    if any(least > most for least, most in ranges):
        return False
    steps = [line.division_g for line in lines]
    least_g = sum(least * step for (least, _), step in zip(ranges, steps, strict=True))
    most_g = sum(most * step for (_, most), step in zip(ranges, steps, strict=True))
    return least_g <= added_g <= most_g


def _made_up(
    lines: Sequence[KettleLine],
    added_g: Decimal,
    start: list[int],
    ranges: list[tuple[int, int]],
) -> list[int] | None:
    """Change the counts from `start` until they make `added_g`, coarse divisions first."""
    counts = list(start)
    missing = added_g - sum(n * line.division_g for n, line in zip(counts, lines, strict=True))
    for place in sorted(range(len(lines)), key=lambda i: -lines[i].division_g):
        least, most = ranges[place]
        step = lines[place].division_g
        wanted = int(missing / step)
        change = min(max(wanted, least - counts[place]), most - counts[place])
        counts[place] += change
        missing -= change * step
    return counts if missing == 0 else None
