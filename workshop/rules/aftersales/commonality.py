"""Which input lots a set of complaints have in common beyond chance."""

from collections import Counter
from collections.abc import Collection, Hashable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext
from fractions import Fraction
from math import comb
from typing import Generic, TypeVar

from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import round_to

Lot = TypeVar("Lot", bound=Hashable)
Batch = TypeVar("Batch", bound=Hashable)

FEWEST_SHARING = 2  # what one batch alone used is shared with nothing
FEWEST_COMPLAINED = 3
FEWEST_BATCHES = 20
# Normal distribution, 97.5 % below: tables of the standard normal distribution.
Z_975 = Decimal("1.9599639845")
HALF = Fraction(1, 2)
NEAR_CERTAIN = Fraction(5, 100)


@dataclass(frozen=True)
class Suspect(Generic[Lot]):
    """One input lot, held against chance.

    `chance` is how likely at least so many complained batches would have used it by luck alone;
    `corrected` is the same after allowing for every lot that could have been named (false
    discovery rate).
    `odds_ratio` compares complained batches with the others, with its 95 % interval.
    """

    lot: Lot
    complained_with: int
    complained: int
    batches_with: int
    batches: int
    chance: Fraction
    corrected: Fraction
    odds_ratio: Decimal
    least_odds_ratio: Decimal
    most_odds_ratio: Decimal

    @property
    def stands_out(self) -> bool:
        return self.corrected <= NEAR_CERTAIN

    @property
    def sentence(self) -> str:
        others = self.batches - self.complained
        return (
            f"{self.complained_with} of {self.complained} batches with complaints used this lot; "
            f"{self.batches_with - self.complained_with} of {others} other batches did."
        )


def commonality(
    lots_of: Mapping[Batch, Collection[Lot]], complained: Collection[Batch]
) -> list[Suspect[Lot]]:
    """Return every lot that two or more complained batches used, the most suspicious first.

    Units: `lots_of` gives the input lots of every batch in the window; `complained` names some
        of those batches. Chances are fractions.
    Error: chances are exact; the odds ratio and its interval are told to 0.01.
    Source: hypergeometric tail (Fisher's exact test, one-sided); Benjamini and Hochberg (1995)
        for the correction over all lots of the window, since any of them could have been named:
        a family of only those that complaints led to would be chosen by the complaints
        themselves. Woolf's interval with one half added to each count.
    Raises: RuleError when no batch is complained of, or one of them is not in the window.

    >>> window = {1: ["A", "B"], 2: ["A"], 3: ["B"], 4: ["B"], 5: ["C"], 6: ["C"]}
    >>> [(s.lot, s.sentence) for s in commonality(window, [1, 2])]
    [('A', '2 of 2 batches with complaints used this lot; 0 of 4 other batches did.')]
    """
    named = set(complained)
    if not named:
        raise RuleError("Choose at least one batch with a complaint.")
    if not named <= set(lots_of):
        raise RuleError("A batch with a complaint is outside the window. Widen the window.")
    counts = _counts(lots_of, named)
    chances = [chance_of(k, len(named), used, len(lots_of)) for k, used in counts.values()]
    suspects = [
        _suspect(lot, k, len(named), used, len(lots_of), chance, corrected)
        for (lot, (k, used)), chance, corrected in zip(
            counts.items(), chances, corrected_chances(chances), strict=True
        )
        if k >= FEWEST_SHARING
    ]
    return sorted(suspects, key=lambda s: (s.chance, -s.complained_with, str(s.lot)))


def _counts(
    lots_of: Mapping[Batch, Collection[Lot]], named: Collection[Batch]
) -> dict[Lot, tuple[int, int]]:
    """How many of the complained batches, and how many of all, used each lot of the window."""
    all_of = Counter(lot for lots in lots_of.values() for lot in set(lots))
    named_of = Counter(lot for batch in named for lot in set(lots_of[batch]))
    return {lot: (named_of[lot], used) for lot, used in all_of.items()}


def chance_of(complained_with: int, complained: int, batches_with: int, batches: int) -> Fraction:
    """Return how likely at least `complained_with` complained batches used a lot by luck alone.

    Units: counts of batches. Error: none.
    Source: upper tail of the hypergeometric distribution.
    Raises: RuleError when the counts cannot belong together.

    >>> chance_of(4, 4, 4, 8)
    Fraction(1, 70)
    """
    fits = 0 <= complained_with <= min(complained, batches_with)
    if not fits or max(complained, batches_with) > batches or batches < 1:
        raise RuleError("These counts of batches cannot belong together.")
    if not complained_with:
        return Fraction(1)
    ways = sum(
        comb(batches_with, k) * comb(batches - batches_with, complained - k)
        for k in range(complained_with, min(complained, batches_with) + 1)
    )
    return Fraction(ways, comb(batches, complained))


def corrected_chances(chances: Sequence[Fraction]) -> list[Fraction]:
    """Return the chances corrected for how many there are, in the same order.

    Units: fractions. Error: none.
    Source: Benjamini and Hochberg (1995), as adjusted p values. Raises: nothing.

    >>> corrected_chances([Fraction(1, 100), Fraction(4, 100), Fraction(3, 100)])
    [Fraction(3, 100), Fraction(1, 25), Fraction(1, 25)]
    """
    order = sorted(range(len(chances)), key=lambda place: chances[place])
    corrected = list(chances)
    least = Fraction(1)
    for rank in range(len(order), 0, -1):
        place = order[rank - 1]
        least = min(least, chances[place] * len(chances) / rank)
        corrected[place] = least
    return corrected


def odds_ratio(
    complained_with: int, complained: int, batches_with: int, batches: int
) -> tuple[Decimal, Decimal, Decimal]:
    """Return how much higher the odds of the lot are in complained batches, with 95 % interval.

    Units: none; 1 is no difference. Error: rounded to 0.01.
    Source: Woolf's interval with one half added to each count (Haldane, Anscombe).
    Raises: nothing for counts that belong together.

    >>> odds_ratio(7, 8, 18, 248)
    (Decimal('99.78'), Decimal('15.68'), Decimal('634.85'))
    """
    a = complained_with + HALF
    b = complained - complained_with + HALF
    c = batches_with - complained_with + HALF
    d = batches - complained - (batches_with - complained_with) + HALF
    ratio, square = a * d / (b * c), 1 / a + 1 / b + 1 / c + 1 / d
    with localcontext(prec=40):
        middle = (Decimal(ratio.numerator) / ratio.denominator).ln()
        reach = Z_975 * (Decimal(square.numerator) / square.denominator).sqrt()
        ends = (middle.exp(), (middle - reach).exp(), (middle + reach).exp())
        least, most, centre = (
            round_to(end, Decimal("0.01")) for end in (ends[1], ends[2], ends[0])
        )
    return centre, least, most


def thin_data(complained: int, batches: int) -> list[str]:
    """Return why the answer should be taken with care, as sentences.

    Units: counts of batches. Error: none. Source: common practice, no source.
    Raises: nothing.

    >>> thin_data(2, 240)
    ['Only 2 batches are complained of: what they share may be chance. Look at the lots by hand.']
    """
    warnings = []
    if complained < FEWEST_COMPLAINED:
        which = "1 batch is" if complained == 1 else f"{complained} batches are"
        warnings.append(
            f"Only {which} complained of: what they share may be chance. Look at the lots by hand."
        )
    if batches < FEWEST_BATCHES:
        warnings.append(
            f"There are only {batches} batches to compare with. Compare a longer time if you can."
        )
    return warnings


def _suspect(
    lot: Lot,
    k: int,
    complained: int,
    used: int,
    batches: int,
    chance: Fraction,
    corrected: Fraction,
) -> Suspect[Lot]:
    ratios = odds_ratio(k, complained, used, batches)
    return Suspect(lot, k, complained, used, batches, chance, corrected, *ratios)
