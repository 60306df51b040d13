"""A soap designed from its fats: alkali, water, glycerin, and what a bar will weigh."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import Exact, round_to, show_mass
from workshop.rules.soap.lye import GLYCEROL_MOLAR_G, MOLAR_G, Fat, sv_warnings

# Citric acid without water, C6H8O7, g/mol: standard atomic weights, from memory. One mole uses up
# three of alkali.
CITRIC_MOLAR_G = Fraction("192.124")
# Common practice, no source: nobody makes a lye weaker than one part in six.
MOST_WATER_TO_LYE = 5
HUNDREDTH = Decimal("0.01")

LARGEST_SUPERFAT = Fraction(20, 100)


@dataclass(frozen=True)
class Liquid:
    """What stands in for some of the water, such as milk: its grams, and what it brings."""

    grams: Exact = 0
    fat: Exact = 0
    sugar: Exact = 0
    fat_sv: Exact = 0

    @property
    def fat_g(self) -> Fraction:
        return Fraction(self.grams) * Fraction(self.fat)

    @property
    def sugar_g(self) -> Fraction:
        return Fraction(self.grams) * Fraction(self.sugar)

    @property
    def water_g(self) -> Fraction:
        return Fraction(self.grams) - self.fat_g - self.sugar_g


@dataclass(frozen=True)
class Wanted:
    """What a soap is meant to be; all shares and strengths as fractions.

    `by_naoh` is the part of the fat that sodium hydroxide saponifies, the rest potassium
    hydroxide. `superfat` is the lye left out (a lye discount is the same); fat that is added after
    the cook comes on top.
    """

    superfat: Exact
    water_to_lye: Exact
    by_naoh: Exact = 1
    naoh_purity: Exact = 1
    koh_purity: Exact = 1
    liquid: Liquid = Liquid()
    citric_g: Exact = 0
    fat_after_g: Exact = 0
    cure_loss: Exact = 0


@dataclass(frozen=True)
class SoapDesign:
    """What goes into the kettle, in grams exactly, and what comes of it."""

    fats_g: Fraction
    naoh_g: Fraction
    koh_g: Fraction
    naoh_weighed_g: Fraction
    koh_weighed_g: Fraction
    water_g: Fraction
    liquid: Liquid
    citric_g: Fraction
    fat_after_g: Fraction
    glycerol_g: Fraction
    poured_g: Fraction
    water_in_it_g: Fraction
    cured_g: Fraction
    superfat: Fraction
    least_superfat: Fraction
    most_superfat: Fraction
    warnings: tuple[str, ...]

    @property
    def after_share(self) -> Fraction:
        """What fat added after the cook is of all the fat."""
        fats = self.fats_g + self.liquid.fat_g + self.fat_after_g
        return self.fat_after_g / fats

    @property
    def strength(self) -> Fraction:
        """Pure alkali in lye and water."""
        lye = self.naoh_g + self.koh_g
        return lye / (lye + self.water_in_it_g)

    @property
    def water_left(self) -> Fraction:
        """Water in the cured bar, if all that it lost was water."""
        left = self.water_in_it_g - (self.poured_g - self.cured_g)
        return left / self.cured_g


def design_soap(fats: Sequence[Fat], wanted: Wanted) -> SoapDesign:
    """Return what the kettle takes for these fats.

    Units: g; saponification values in mg KOH per gram; fractions for all shares.
    Error: none in the arithmetic; the superfat that results lies between `least_superfat` and
        `most_superfat`, as the fats' values may vary.
    Source: ISO 3657 for the value; three moles of alkali a mole of glycerol and of citric acid,
        molar masses from memory; the rest is common practice. A qualified person has the last word.
    Raises: RuleError for what cannot be, or where lye would be left over with every value at its
        least.

    >>> made = design_soap([Fat("olive oil", 600, 190)], Wanted(Decimal("0.05"), 2))
    >>> round_to(made.naoh_weighed_g, HUNDREDTH)
    Decimal('77.21')
    """
    _check(fats, wanted)
    every = [*fats, *_liquid_fat(wanted.liquid)]
    usual, least, most = _koh(every)
    used = usual * (1 - Fraction(wanted.superfat))
    by_naoh, per_koh = Fraction(wanted.by_naoh), MOLAR_G["NaOH"] / MOLAR_G["KOH"]
    acid_koh = Fraction(wanted.citric_g) * 3 * MOLAR_G["KOH"] / CITRIC_MOLAR_G
    naoh, koh = (used + acid_koh) * by_naoh * per_koh, (used + acid_koh) * (1 - by_naoh)
    if used > least:
        _refuse_lye_left(used, least)
    naoh_weighed, koh_weighed = (
        naoh / Fraction(wanted.naoh_purity),
        koh / Fraction(wanted.koh_purity),
    )
    in_all = (naoh + koh) * Fraction(wanted.water_to_lye)
    # What potassium hydroxide is not pure of is mostly water (common practice, no source).
    water = in_all - wanted.liquid.water_g - (koh_weighed - koh)
    if water < 0:
        raise RuleError(
            f"The liquid and the alkali bring {_g(in_all - water)} of water, more than the "
            f"{_g(in_all)} of this lye. Take less of the liquid, or a weaker lye."
        )
    fats_g = sum((Fraction(fat.weight_g) for fat in fats), Fraction())
    poured = (
        fats_g + naoh_weighed + koh_weighed + water + Fraction(wanted.liquid.grams)
        + Fraction(wanted.citric_g) + Fraction(wanted.fat_after_g)
    )  # fmt: skip
    lost = poured * Fraction(wanted.cure_loss)
    if lost > in_all:
        raise RuleError(
            f"A loss of {_g(lost)} in the cure is more than the {_g(in_all)} of water in it."
        )
    return SoapDesign(
        fats_g=fats_g,
        naoh_g=naoh,
        koh_g=koh,
        naoh_weighed_g=naoh_weighed,
        koh_weighed_g=koh_weighed,
        water_g=water,
        liquid=wanted.liquid,
        citric_g=Fraction(wanted.citric_g),
        fat_after_g=Fraction(wanted.fat_after_g),
        glycerol_g=used * GLYCEROL_MOLAR_G / (3 * MOLAR_G["KOH"]),
        poured_g=poured,
        water_in_it_g=in_all,
        cured_g=poured - lost,
        superfat=1 - used / usual,
        least_superfat=1 - used / least,
        most_superfat=1 - used / most,
        warnings=tuple(sv_warnings(fats)),
    )


def cut_weight(label_g: Exact, cure_loss: Exact) -> Fraction:
    """Return what a fresh bar must weigh so that the cured one holds its net weight.

    Units: g and a fraction. Error: none. Source: none needed.
    Raises: RuleError for a loss that leaves nothing.

    >>> round_to(cut_weight(100, Decimal("0.12")), HUNDREDTH)
    Decimal('113.64')
    """
    if not 0 <= cure_loss < 1:
        raise RuleError("The loss in the cure must be from 0 to below 100 %.")
    return Fraction(label_g) / (1 - Fraction(cure_loss))


def _koh(fats: Sequence[Fat]) -> tuple[Fraction, Fraction, Fraction]:
    usual = sum((fat.koh_g() for fat in fats), Fraction())
    least = sum((min(fat.koh_g(fat.least_sv), fat.koh_g()) for fat in fats), Fraction())
    most = sum((max(fat.koh_g(fat.most_sv), fat.koh_g()) for fat in fats), Fraction())
    return usual, least, most


def _liquid_fat(liquid: Liquid) -> list[Fat]:
    return [Fat("the fat of the liquid", liquid.fat_g, liquid.fat_sv)] if liquid.fat_g else []


def _refuse_lye_left(used: Fraction, least: Fraction) -> None:
    needed = 1 - least / used
    raise RuleError(
        "With these fats at their lowest saponification values, "
        f"{round_to(100 * needed, Decimal('0.1'))} % of the lye would be left over. The soap could "
        "burn skin. Raise the superfat."
    )


def _check(fats: Sequence[Fat], wanted: Wanted) -> None:
    if not fats or any(fat.weight_g <= 0 for fat in fats):
        raise RuleError("A soap needs fats that weigh more than nothing.")
    if any(not 50 <= fat.sv <= 400 for fat in fats):
        raise RuleError(
            "A saponification value is in mg KOH per gram and lies between 50 and 400; "
            "olive oil is near 190."
        )
    _check_superfat(wanted.superfat)
    _check_water(wanted.water_to_lye)
    if not 0 <= wanted.by_naoh <= 1:
        raise RuleError("From none to all of the fat is saponified by sodium hydroxide.")
    if not all(Fraction(1, 2) <= one <= 1 for one in (wanted.naoh_purity, wanted.koh_purity)):
        raise RuleError("The purity of an alkali must be from 50 to 100 %.")
    if min(wanted.citric_g, wanted.fat_after_g) < 0:
        raise RuleError("Nothing is added in less than no grams.")
    if not 0 <= wanted.cure_loss < 1:
        raise RuleError("The loss in the cure must be from 0 to below 100 %.")
    _check_liquid(wanted.liquid)


def _check_liquid(liquid: Liquid) -> None:
    if liquid.grams < 0 or min(liquid.fat, liquid.sugar) < 0 or liquid.water_g < 0:
        raise RuleError("Fat and sugar of the liquid lie between none and all of it.")
    if liquid.fat_g and not 50 <= liquid.fat_sv <= 400:
        raise RuleError("Give the saponification value of the liquid's fat, from 50 to 400.")


def _check_water(water_to_lye: Exact) -> None:
    if water_to_lye > MOST_WATER_TO_LYE:
        raise RuleError(
            f"{water_to_lye} parts of water to one of lye are implausibly many; a figure "
            "such as 33 is a strength in per cent."
        )
    if water_to_lye < 1:
        raise RuleError("Use at least as much water as alkali: it does not dissolve in less.")


def _check_superfat(superfat: Exact) -> None:
    if superfat < 0:
        raise RuleError(
            "Below 0 % of superfat lye is left over, and the soap burns skin. Give from 0 to 20 %."
        )
    if superfat > LARGEST_SUPERFAT:
        raise RuleError("The superfat must be from 0 to 20 %.")


def _g(grams: Fraction) -> str:
    return show_mass(round_to(grams, HUNDREDTH))
