"""Net contents by volume, for liquids: both systems, never more than is inside."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from workshop.rules.errors import RuleError
from workshop.rules.labels.net_contents import (
    DECIMALS,
    E_MARK,
    MOST_DECIMALS,
    NetContents,
    cut,
    plain,
    refuse_too_few,
)
from workshop.rules.quantities.units import (
    FLUID_OUNCE_ML,
    GALLON_ML,
    Exact,
    ceil_to,
    floor_to,
    grams_to_ounces,
    round_to,
)

PINT_OZ, QUART_OZ, GALLON_OZ = 16, 32, 128
MOST_ML = 10_000_000
E_MARK_FROM_ML, E_MARK_TO_ML = 5, 10_000
MILLIGRAM_G, HUNDREDTH = Decimal("0.001"), Decimal("0.01")


def net_volume_us(
    net_ml: Decimal, density_g_per_ml: Decimal, *, ounce_decimals: int = MOST_DECIMALS
) -> NetContents:
    """Return the US net contents of a pack that holds `net_ml` at 20 °C, and its promise as weight.

    Both figures are cut, never rounded up: millilitres to three significant digits, fluid ounces
    to `ounce_decimals` places.

    Units: mL at 20 °C (68 °F), g/mL. Error: the statement promises less than the pack holds by
        under one last digit; the promise in grams is rounded up to a milligram.
    Source: 21 CFR 701.13(a), (b), (d), (j), (m): fluid measure of the gallon of 231 cubic inches
        for liquids; under a pint in fluid ounces; under a gallon in fluid ounces, then quarts,
        pints and the rest in brackets; from a gallon on in gallons. 15 U.S.C. 1453(a)(2): both
        systems.
    Raises: RuleError when the pack holds nothing, too little to state, or beyond ten cubic
        metres, and for decimals that are too few or that the rule does not allow.

    >>> net_volume_us(Decimal(250), Decimal("0.92")).text
    '8.45 fl oz (250 mL)'
    >>> net_volume_us(Decimal("946.352946"), Decimal(1)).text
    '32 fl oz (1 qt) 946 mL'
    """
    metric, ml = _metric(net_ml, "mL")
    if ounce_decimals not in DECIMALS:
        raise RuleError("Ounces are stated with at most two decimals.")
    exact = Fraction(net_ml) / FLUID_OUNCE_ML
    step = Decimal(1).scaleb(-ounce_decimals)
    if exact >= GALLON_OZ:
        gallons = floor_to(exact / GALLON_OZ, step)
        refuse_too_few(gallons, exact / GALLON_OZ, "gal", ounce_decimals)
        return _promised(
            f"{plain(gallons)} gal ({metric})", Fraction(gallons) * GALLON_ML, ml, density_g_per_ml
        )
    ounces = floor_to(exact, step)
    refuse_too_few(ounces, exact, "fl oz", ounce_decimals)
    text = f"{plain(ounces)} fl oz ({metric})"
    if ounces >= PINT_OZ:
        text = f"{plain(ounces)} fl oz ({_larger(ounces)}) {metric}"
    return _promised(text, Fraction(ounces) * FLUID_OUNCE_ML, ml, density_g_per_ml)


def net_volume_eu(net_ml: Decimal, *, e_mark: bool = False) -> str:
    """Return the nominal content for an EU label, with the e mark if asked for.

    Units: mL. Error: cut to three significant digits, never rounded up.
    Source: Regulation (EC) 1223/2009, article 19(1)(b); the mark from 5 mL to 10 L, Directive
        76/211/EEC.
    Raises: RuleError as `net_volume_us`, or for the mark outside its range.

    >>> net_volume_eu(Decimal(250), e_mark=True), net_volume_eu(Decimal(1250))
    ('250 ml \\u212e', '1.25 L')
    """
    metric, ml = _metric(net_ml, "ml")
    if e_mark and not E_MARK_FROM_ML <= ml <= E_MARK_TO_ML:
        raise RuleError("The e mark is for contents from 5 mL to 10 L.")
    return f"{metric} {E_MARK}" if e_mark else metric


def weight_of(net_ml: Decimal, density_g_per_ml: Decimal) -> Decimal:
    """Return what so much of a liquid weighs, rounded up to a milligram, as it is filled by weight.

    Units: mL and g/mL at one temperature, g. Error: under a milligram. Source: the definition.
    Raises: RuleError when either is not above zero.

    >>> weight_of(Decimal(250), Decimal("0.92"))
    Decimal('230.000')
    """
    if net_ml <= 0 or density_g_per_ml <= 0:
        raise RuleError("A volume and its density are above zero.")
    return ceil_to(Fraction(net_ml) * Fraction(density_g_per_ml), MILLIGRAM_G)


def volume_of(net_g: Decimal, density_g_per_ml: Decimal) -> Decimal:
    """Return the volume that a weight of a liquid takes, cut to a thousandth: never too much.

    Units: g and g/mL, mL. Error: under a thousandth. Source: the definition.
    Raises: RuleError when either is not above zero.

    >>> volume_of(Decimal(230), Decimal("0.92"))
    Decimal('250.000')
    """
    if net_g <= 0 or density_g_per_ml <= 0:
        raise RuleError("A weight and its density are above zero.")
    return floor_to(Fraction(net_g) / Fraction(density_g_per_ml), Decimal("0.001"))


def mixture_density(parts: Sequence[tuple[Exact, Exact]]) -> Decimal:
    """Return the density of a mixture from each part's weight, or share of it, and its density.

    Volumes are taken to add up: oils do to a thousandth or so, water and alcohol do not.

    Units: any one weight, g/mL. Error: rounded to the nearest ten-thousandth; what mixing takes
        from or adds to the volume is not in it. Source: common practice, no source.
    Raises: RuleError without parts, or for a weight or a density that is not above zero.

    >>> mixture_density([(50, Decimal("0.9")), (50, Decimal("1.0"))])
    Decimal('0.9474')
    """
    if not parts or any(weight <= 0 or density <= 0 for weight, density in parts):
        raise RuleError("A mixture needs parts whose weights and densities are above zero.")
    weight = sum((Fraction(one) for one, _ in parts), Fraction())
    volume = sum((Fraction(one) / Fraction(density) for one, density in parts), Fraction())
    return round_to(weight / volume, Decimal("0.0001"))


def _promised(text: str, us_ml: Fraction, ml: Decimal, density: Decimal) -> NetContents:
    """The statement with the larger of its two promises as weight, which a scale is held to.

    Source: NIST Handbook 133 (2026), 2.3.3, the larger of two promises is tested.
    """
    grams = ceil_to(max(Fraction(us_ml), Fraction(ml)) * Fraction(density), MILLIGRAM_G)
    return NetContents(text, floor_to(grams_to_ounces(grams), HUNDREDTH), grams)


def _metric(net_ml: Decimal, unit: str) -> tuple[str, Decimal]:
    if not 0 < net_ml <= MOST_ML:
        raise RuleError("The volume must be above zero, and not beyond ten cubic metres.")
    if net_ml >= 1000:
        litres = cut(Fraction(net_ml) / 1000, 3)
        return f"{plain(litres)} L", litres * 1000
    ml = cut(Fraction(net_ml), 3)
    if ml == 0:
        raise RuleError("The pack holds too little for a volume to be stated.")
    return f"{plain(ml)} {unit}", ml


def _larger(ounces: Decimal) -> str:
    """Fluid ounces as quarts, pints and what is left."""
    quarts, rest = divmod(ounces, QUART_OZ)
    pints, rest = divmod(rest, PINT_OZ)
    parts = ((quarts, "qt"), (pints, "pt"), (rest, "fl oz"))
    return " ".join(f"{plain(many)} {unit}" for many, unit in parts if many)
