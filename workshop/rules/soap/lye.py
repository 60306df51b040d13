"""Alkali for a soap: how much, within which superfat it will really be, and with what cautions."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from workshop.rules.errors import RuleError
from workshop.rules.ingredients.composition import Composition, Constituent
from workshop.rules.quantities.units import Exact
from workshop.rules.soap.fats import published_range

Alkali = Literal["NaOH", "KOH"]

# Molar masses, g/mol: standard atomic weights, from memory.
MOLAR_G: dict[Alkali, Fraction] = {"NaOH": Fraction("39.997"), "KOH": Fraction("56.106")}
GLYCEROL_MOLAR_G = Fraction("92.094")
GLYCERIN = Constituent("Glycerin")
# By its INCI name in small letters, and what its salts are called after.
ALKALIS: Mapping[str, Alkali] = {"sodium hydroxide": "NaOH", "potassium hydroxide": "KOH"}
METALS: Mapping[Alkali, str] = {"NaOH": "Sodium", "KOH": "Potassium"}
METAL = re.compile(r"^(?:sodium|potassium)\b", re.IGNORECASE)

# By CLP, a weaker solution is of no hazard class; less of the whole makes no soap either.
HAZARDOUS_FROM = Fraction(5, 1000)

# H314 and H290 of sodium hydroxide (INRS sheet 20, and suppliers' sheets, second-hand); that lye
# goes into water is common practice, no source.
CAUTIONS = (
    "Lye burns skin and eyes badly. Wear goggles, gloves and long sleeves.",
    "Always add lye to water, never water to lye: it heats up and can boil over.",
    "Use stainless steel or HDPE. Lye attacks aluminium, zinc and tin and gives off hydrogen, "
    "which can catch fire.",
    "In the eyes or on the skin: rinse at once with plenty of water, and get medical help.",
)
LAST_WORD = (
    "Saponification values vary by lot. Check the finished soap before anyone uses it, and have a "
    "qualified person approve the formula."
)
# What a vessel may be made of that lye eats away, giving off hydrogen.
ATTACKED = frozenset({"aluminium", "tin", "zinc", "galvanised"})


@dataclass(frozen=True)
class Fat:
    """A fat in the kettle with its saponification value.

    Without `least_sv` and `most_sv` the value is taken as measured on this very lot.
    """

    name: str
    weight_g: Exact
    sv: Exact
    least_sv: Exact | None = None
    most_sv: Exact | None = None

    def koh_g(self, sv: Exact | None = None) -> Fraction:
        return Fraction(self.weight_g) * Fraction(self.sv if sv is None else sv) / 1000


def water_for_strength(strength: Exact) -> Fraction:
    """Return the parts of water to one of alkali for a lye of this strength.

    Units: fraction by weight (0.33 for 33 %). Error: none. Source: none needed.
    Raises: RuleError unless the strength is between 0 and 1.

    >>> water_for_strength(Fraction(33, 100))
    Fraction(67, 33)
    """
    if not 0 < strength < 1:
        raise RuleError("The strength of the lye must be between 0 and 100 %.")
    return (1 - Fraction(strength)) / Fraction(strength)


def sv_warnings(fats: Sequence[Fat]) -> list[str]:
    """Return a sentence for each fat whose saponification value is outside its published range.

    Units: mg KOH per gram. Error: none. Source: see `fats.SV_RANGES`. Raises: nothing.

    >>> sv_warnings([Fat("Coconut oil", 100, 269)])
    ['Coconut oil: 269 is outside the published 248 to 265 (CXS 210). Check it.']
    """
    warnings = []
    for fat in fats:
        known = published_range(fat.name)
        if known is not None and not known[0] <= fat.sv <= known[1]:
            least, most, source = known
            warnings.append(
                f"{fat.name}: {fat.sv} is outside the published {least} to {most} ({source}). "
                "Check it."
            )
    return warnings


def lye_hazard(strength: Exact) -> str:
    """Return the hazard class of a sodium hydroxide solution of this strength.

    Units: fraction by weight. Error: none.
    Source: CLP Annex VI concentration limits, second-hand: 5 %, 2 %, 0.5 %.
    Raises: nothing.

    >>> lye_hazard(Fraction(30, 100))
    'Danger: causes severe burns and eye damage (skin corrosion 1A).'
    """
    if strength >= Fraction(5, 100):
        return "Danger: causes severe burns and eye damage (skin corrosion 1A)."
    if strength >= Fraction(2, 100):
        return "Danger: causes burns and eye damage (skin corrosion 1B)."
    if strength >= HAZARDOUS_FROM:
        return "Warning: irritates skin and eyes."
    return "Below the limits for a hazard class; still keep it off skin and out of eyes."


def alkali_of(part: Constituent) -> Alkali | None:
    """Return which alkali an ingredient is by its INCI name, or None.

    Units, error, raises: none. Source: the INCI names of the two.

    >>> alkali_of(Constituent("Potassium Hydroxide", kind="alkali"))
    'KOH'
    """
    return ALKALIS.get(part.inci_name.casefold())


def as_saponified(
    composition: Composition, values: Mapping[Constituent, Exact], *, by_oil: bool = False
) -> dict[Constituent, Fraction]:
    """Return the composition of a soap as it comes out: soap salts, glycerin, fat left over.

    The alkali is taken as used up, by all fats in one proportion; of two alkalis each fat takes
    as many moles of each as there are of it, and gives a salt of each. `values` gives the
    saponification value of each fat, whose `soap_name` names its sodium salt. With `by_oil` the
    salts of an organic fat are called after the oil, which is what is organic ("Saponified
    organic olive oil"), and are not marked themselves.

    Units: fractions of the whole; saponification values in mg KOH per gram.
    Error: none in the arithmetic; nothing is gained or lost.
    Source: a fat and alkali give salt and a third of a mole of glycerol for each of alkali. A salt
        is called after its metal: public labels have Potassium Cocoate and Potassium Olivate
        beside Sodium Cocoate and Sodium Olivate.
    Raises: RuleError without alkali or fat, with more alkali than the fats can use up, for an
        alkali that is neither hydroxide, or for a fat without a soap name.

    >>> olive = Constituent("Olive Oil", soap_name="Sodium Olivate")
    >>> lye = Constituent("Sodium Hydroxide", kind="alkali")
    >>> out = as_saponified({olive: Fraction(9, 10), lye: Fraction(1, 10)}, {olive: 190})
    >>> [part.inci_name for part in out]
    ['Sodium Olivate', 'Olive Oil', 'Glycerin']
    """
    moles = _moles(composition)
    can_use = {
        part: composition[part] * Fraction(values[part]) / 1000 / MOLAR_G["KOH"]
        for part in composition
        if part in values
    }
    there, needed = sum(moles.values(), Fraction()), sum(can_use.values(), Fraction())
    if not there or not needed:
        raise RuleError("A soap needs an alkali, and fats with a saponification value.")
    if there > needed:
        raise RuleError("There is more alkali than the fats can use up. The soap could burn skin.")
    done = there / needed
    soap = {p: s for p, s in composition.items() if p not in values and p.kind != "alkali"}
    for fat, fat_moles in can_use.items():
        if not fat.soap_name:
            raise RuleError(f"{fat.inci_name} has no soap name, so the list cannot name its salt.")
        _add(soap, fat, composition[fat] * (1 - done))
        for alkali, alkali_moles in moles.items():
            share = done * alkali_moles / there  # of the fat that this alkali turns into soap
            glycerol = share * fat_moles * GLYCEROL_MOLAR_G / 3
            salt = share * (composition[fat] + fat_moles * MOLAR_G[alkali]) - glycerol
            _add(soap, _salt(fat, alkali, by_oil=by_oil), salt)
            _add(soap, GLYCERIN, glycerol)
    return dict(sorted(soap.items(), key=lambda item: (-item[1], item[0].inci_name)))


def _moles(composition: Composition) -> dict[Alkali, Fraction]:
    """How much of each alkali there is, in moles for each gram of the whole."""
    moles: dict[Alkali, Fraction] = {}
    for part, share in composition.items():
        if part.kind != "alkali" or not share:
            continue
        alkali = alkali_of(part)
        if alkali is None:
            raise RuleError(
                f"{part.inci_name} is neither sodium nor potassium hydroxide, so the list cannot "
                "name what came out; name the soap by what went in."
            )
        moles[alkali] = moles.get(alkali, Fraction()) + share / MOLAR_G[alkali]
    return moles


def _salt(fat: Constituent, alkali: Alkali, *, by_oil: bool) -> Constituent:
    """A salt made here is no agricultural ingredient, however the fat was grown."""
    if by_oil and fat.is_organic and fat.common_name:
        return Constituent(f"Saponified organic {fat.common_name}")
    return Constituent(METAL.sub(METALS[alkali], fat.soap_name))


def _add(soap: dict[Constituent, Fraction], part: Constituent, share: Fraction) -> None:
    if share or part.kind == "extract":
        soap[part] = soap.get(part, Fraction()) + share
