"""What superfat a soap will really have, from what is in the kettle."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import Exact
from workshop.rules.soap.fats import published_range
from workshop.rules.soap.lye import MOLAR_G, Alkali, Fat


@dataclass(frozen=True)
class Superfat:
    """The share of the fats that no alkali is there for; below zero alkali is left over.

    `usual` goes by the values given, `least` and `most` by those between which they may lie.
    """

    usual: Fraction
    least: Fraction
    most: Fraction


def superfat_of(fats: Sequence[Fat], alkali_g: Mapping[Alkali, Exact]) -> Superfat:
    """Return the superfat that results from these fats and this much pure alkali.

    Units: g of each fat and each alkali (or shares, all of one whole); saponification values in
        mg KOH per gram; fractions come out, below zero where alkali is left over.
    Error: none in the arithmetic; see `Superfat` for what the fats' values leave open.
    Source: ISO 3657 for the value; two alkalis count together by their molar masses (from memory).
    Raises: RuleError when nothing there can bind alkali, or more of something is less than none.

    >>> olive = Fat("olive oil", weight_g=1000, sv=200)
    >>> superfat_of([olive], {"KOH": 190}).usual, superfat_of([olive], {"KOH": 210}).usual
    (Fraction(1, 20), Fraction(-1, 20))
    """
    as_koh = sum(
        (Fraction(g) * MOLAR_G["KOH"] / MOLAR_G[alkali] for alkali, g in alkali_g.items()),
        Fraction(),
    )
    usual = sum((fat.koh_g() for fat in fats), Fraction())
    least = sum((min(fat.koh_g(fat.least_sv), fat.koh_g()) for fat in fats), Fraction())
    most = sum((max(fat.koh_g(fat.most_sv), fat.koh_g()) for fat in fats), Fraction())
    if least <= 0 or as_koh < 0 or any(fat.weight_g < 0 for fat in fats):
        raise RuleError("A soap needs fats that can bind its alkali.")
    return Superfat(*(1 - as_koh / koh for koh in (usual, least, most)))


def with_published_range(fat: Fat, *names: str) -> Fat:
    """Return the fat with a range that holds its own and the published one of its kind, if known.

    The published ends count even where a data sheet is narrower: they are what a careful maker
    reckons with. `names` are other names of the fat.

    Units: mg KOH per gram. Error: none. Source: see `fats.SV_RANGES`. Raises: nothing.

    >>> with_published_range(Fat("Castor oil", 100, 181)).least_sv
    Decimal('176')
    """
    known = published_range(fat.name, *names)
    if known is None:
        return fat
    own = [fat.sv, *(sv for sv in (fat.least_sv, fat.most_sv) if sv is not None)]
    return replace(fat, least_sv=min(*own, known[0]), most_sv=max(*own, known[1]))
