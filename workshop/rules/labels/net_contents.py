"""Net contents of a label in both systems, never more than is inside, and its type size.

Fluid ounces and millilitres: `net_volume.py`.
"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import (
    MOST_G,
    Exact,
    floor_to,
    grams_to_ounces,
    ounces_to_grams,
    without_zeros,
)

SQ_MM_IN_SQ_INCH = Fraction("645.16")
# A little above pi, so that a panel is never taken for smaller than it is.
PI_FROM_ABOVE = Fraction(355, 113)
OUNCES_IN_POUND = 16
FROM_POUNDS_OZ = 64
# 21 CFR 701.13(d): at most two decimals.
DECIMALS = (2, 1, 0)
MOST_DECIMALS = 2
# Our own choice: fewer decimals may state a hundredth less than is in the pack, not more.
MOST_GIVEN_UP = Fraction(1, 100)
# 21 CFR 701.13(i): panel area up to (square inches) -> letter height (inch, printed as mm).
TYPE_SIZES = (
    (Fraction(5), Fraction(1, 16), Decimal("1.6")),
    (Fraction(25), Fraction(1, 8), Decimal("3.2")),
    (Fraction(100), Fraction(3, 16), Decimal("4.8")),
    (Fraction(400), Fraction(1, 4), Decimal("6.4")),
)
LARGEST_TYPE = (Fraction(1, 2), Decimal("12.7"))
# Directive 76/211/EEC, Annex I, 3.1, as France carries it (order of 20 October 1978, article 2.1):
# nominal up to (g) -> height (mm).
EU_TYPE_SIZES = ((Decimal(50), 2), (Decimal(200), 3), (Decimal(1000), 4))
# The same order, article 2.3: the least height of the mark itself.
E_MARK_MM = 3
E_MARK_FROM_G, E_MARK_TO_G = 5, 10_000
E_MARK = "\u212e"


@dataclass(frozen=True)
class NetContents:
    """A net weight statement; `ounces` and `grams` are what it promises."""

    text: str
    ounces: Decimal
    grams: Decimal

    @property
    def tested_g(self) -> Fraction:
        """The larger of the two promises: the one an inspector weighs against."""
        return quantity_tested_g(self.ounces, self.grams)


@dataclass(frozen=True)
class TypeSize:
    """The least height of the letters; `in_bottom_30_percent` when they must stand there."""

    inches: Fraction
    mm: Decimal
    in_bottom_30_percent: bool


def net_weight_us(net_g: Decimal, *, ounce_decimals: int = MOST_DECIMALS) -> NetContents:
    """Return the US net weight statement of a pack that holds `net_g`.

    Both figures are cut, never rounded up: grams to three significant digits, ounces and pounds
    to `ounce_decimals` places. Fewer than two are refused where more than a hundredth is lost.

    Units: g. Error: the statement promises less than the pack holds by under one last digit.
    Source: 21 CFR 701.13(d), (j), (k), (m): under 1 lb in ounces; up to 4 lb in ounces, then
        pounds and the rest in brackets; from 4 lb in pounds; at most two decimals. 15 U.S.C.
        1453(a)(2): both systems. NIST Handbook 130, packaging and labeling regulation, section on
        rounding, from memory: no figure may overstate, nor give up accuracy; how much is given up
        is our own choice.
    Raises: RuleError when the pack holds nothing, too little to state, or beyond ten tonnes, and
        for decimals that are too few or that the rule does not allow.

    >>> net_weight_us(Decimal(30)).text, net_weight_us(Decimal(100), ounce_decimals=1).text
    ('Net wt. 1.05 oz (30 g)', 'Net wt. 3.5 oz (100 g)')
    >>> net_weight_us(Decimal("680.389")).text
    'Net wt. 24 oz (1 lb 8 oz) 680 g'
    """
    metric, grams = _metric(net_g)
    if ounce_decimals not in DECIMALS:
        raise RuleError("Ounces are stated with at most two decimals.")
    exact_oz = grams_to_ounces(net_g)
    if exact_oz >= FROM_POUNDS_OZ:
        exact_lb = exact_oz / OUNCES_IN_POUND
        pounds = _at(exact_lb, ounce_decimals)
        refuse_too_few(pounds, exact_lb, "lb", ounce_decimals)
        return NetContents(
            f"Net wt. {plain(pounds)} lb ({metric})", pounds * OUNCES_IN_POUND, grams
        )
    ounces = _at(exact_oz, ounce_decimals)
    refuse_too_few(ounces, exact_oz, "oz", ounce_decimals)
    if ounces < OUNCES_IN_POUND:
        return NetContents(f"Net wt. {plain(ounces)} oz ({metric})", ounces, grams)
    brackets = _pounds_and_ounces(ounces)
    return NetContents(f"Net wt. {plain(ounces)} oz ({brackets}) {metric}", ounces, grams)


def refuse_too_few(stated: Decimal, exact: Fraction, unit: str, decimals: int) -> None:
    """Raises RuleError where so few decimals state too little, or nothing."""
    if decimals < MOST_DECIMALS and stated < exact * (1 - MOST_GIVEN_UP):
        found = plain(_at(exact, MOST_DECIMALS))
        raise RuleError(
            f"With so few decimals the label would say {plain(stated)} {unit} for {found} {unit}, "
            "more than a hundredth too little. State more decimals."
        )
    if stated == 0:
        raise RuleError("The pack holds too little for net contents in ounces.")


def net_weight_eu(net_g: Decimal, *, e_mark: bool = False) -> str:
    """Return the nominal content for an EU label, with the e mark if asked for.

    Units: g. Error: cut to three significant digits, never rounded up.
    Source: Regulation (EC) 1223/2009, article 19(1)(b); the mark from 5 g to 10 kg, Directive
        76/211/EEC. Whether the fill supports the mark is for `fill` to say.
    Raises: RuleError as `net_weight_us`, or for the mark outside its range.

    >>> net_weight_eu(Decimal(60), e_mark=True), net_weight_eu(Decimal(1250))
    ('60 g \\u212e', '1.25 kg')
    """
    metric, grams = _metric(net_g)
    if e_mark and not E_MARK_FROM_G <= grams <= E_MARK_TO_G:
        raise RuleError("The e mark is for contents from 5 g to 10 kg.")
    return f"{metric} {E_MARK}" if e_mark else metric


def may_be_left_off_eu(net_g: Decimal) -> bool:
    """Say whether the EU lets the content be left off: under 5 g (article 19(1)(b)).

    >>> may_be_left_off_eu(Decimal("4.25")), may_be_left_off_eu(Decimal(5))
    (True, False)
    """
    return net_g < E_MARK_FROM_G


def quantity_tested_g(ounces: Exact, grams: Exact) -> Fraction:
    """Return which of two declared weights is tested, in grams: the larger.

    Units: avoirdupois ounces, g. Error: none.
    Source: NIST Handbook 133 (2026), 2.3.3. Raises: nothing.

    >>> quantity_tested_g(16, 454), float(quantity_tested_g(1, 28))
    (Fraction(454, 1), 28.349523125)
    """
    return max(ounces_to_grams(ounces), Fraction(grams))


def rectangle_panel_sq_in(height_mm: Decimal, width_mm: Decimal) -> Fraction:
    """Return the area of a flat panel in square inches: height times width, 21 CFR 701.10.

    >>> rectangle_panel_sq_in(Decimal("50.8"), Decimal("25.4"))
    Fraction(2, 1)
    """
    return Fraction(height_mm) * Fraction(width_mm) / SQ_MM_IN_SQ_INCH


def cylinder_panel_sq_in(height_mm: Decimal, diameter_mm: Decimal) -> Fraction:
    """Return the panel area of a jar or tube: 40 % of height times circumference, 21 CFR 701.10.

    Error: at most 1 in 10 million too large.

    >>> round(cylinder_panel_sq_in(Decimal("63.5"), Decimal("63.5")), 2) == Fraction(785, 100)
    True
    """
    around_mm = PI_FROM_ABOVE * Fraction(diameter_mm)
    return Fraction(2, 5) * Fraction(height_mm) * around_mm / SQ_MM_IN_SQ_INCH


def lid_panel_sq_in(diameter_mm: Decimal) -> Fraction:
    """Return the area of a round lid that is the panel as a whole, 21 CFR 701.10.

    Error: at most 1 in 10 million too large.

    >>> round(lid_panel_sq_in(Decimal("50.8")), 2) == Fraction(314, 100)
    True
    """
    return PI_FROM_ABOVE * Fraction(diameter_mm) ** 2 / 4 / SQ_MM_IN_SQ_INCH


def smallest_type_us(
    panel_sq_in: Exact, *, lettering: Literal["printed", "moulded"] = "printed"
) -> TypeSize:
    """Return the least letter height of the net contents for a panel of this area.

    Units: square inches in; inches and millimetres out. Each numeral of a fraction may be half.
    Error: none. Source: 21 CFR 701.13(f), (h), (i); moulded lettering is 1/16 inch higher.
    Raises: RuleError when the panel has no area.

    >>> smallest_type_us(5).mm, smallest_type_us(Fraction("5.01")).mm
    (Decimal('1.6'), Decimal('3.2'))
    """
    if panel_sq_in <= 0:
        raise RuleError("The panel must have an area above zero.")
    sizes = ((inches, mm) for up_to, inches, mm in TYPE_SIZES if panel_sq_in <= up_to)
    inches, mm = next(sizes, LARGEST_TYPE)
    if lettering == "moulded":
        inches, mm = inches + Fraction(1, 16), mm + Decimal("1.6")
    return TypeSize(inches, mm, in_bottom_30_percent=panel_sq_in > 5)


def smallest_ingredient_type_in(label_area_sq_in: Exact) -> Fraction:
    """Return the least letter height of the US ingredient list, in inches.

    Units: square inches, of all the area there is for labelling. Error: none.
    Source: 21 CFR 701.3(b), (p): 1/16 inch; 1/32 under 12 square inches. Raises: nothing.

    >>> smallest_ingredient_type_in(Fraction("11.9")), smallest_ingredient_type_in(12)
    (Fraction(1, 32), Fraction(1, 16))
    """
    return Fraction(1, 32) if label_area_sq_in < 12 else Fraction(1, 16)


def smallest_type_eu_mm(nominal: Decimal) -> int:
    """Return the least height of the figures of an EU nominal content, in millimetres.

    Units: g or mL, mm. Error: none. Source: Directive 76/211/EEC, Annex I, 3.1, as the French order
        of 20 October 1978 carries it, article 2.1.
    Raises: nothing.

    >>> smallest_type_eu_mm(Decimal(50)), smallest_type_eu_mm(Decimal(60))
    (2, 3)
    """
    return next((height for up_to, height in EU_TYPE_SIZES if nominal <= up_to), 6)


def stands_low_enough(panel_sq_in: Exact, panel_height_mm: Exact, top_edge_mm: Exact) -> bool:
    """Say whether a net contents statement is within the bottom 30 % of its panel.

    Units: square inches; mm, the statement's upper edge measured from the panel's bottom.
    Error: none. Source: 21 CFR 701.13(f), waived at 5 square inches or less. Raises: nothing.

    >>> stands_low_enough(6, 100, 30), stands_low_enough(6, 100, 31), stands_low_enough(5, 100, 90)
    (True, False, True)
    """
    return panel_sq_in <= 5 or 10 * Fraction(top_edge_mm) <= 3 * Fraction(panel_height_mm)


def _metric(net_g: Decimal) -> tuple[str, Decimal]:
    """Return the metric words, and the grams that they promise."""
    if not 0 < net_g <= MOST_G:
        raise RuleError("The net weight must be above zero, and not beyond ten tonnes.")
    if net_g >= 1000:
        kilograms = cut(Fraction(net_g) / 1000, 3)
        return f"{plain(kilograms)} kg", kilograms * 1000
    grams = cut(Fraction(net_g), 3)
    if grams == 0:
        raise RuleError("The pack holds too little for a net weight statement.")
    return f"{plain(grams)} g", grams


def cut(value: Fraction, digits: int) -> Decimal:
    """Cut `value` to so many significant digits, and to two decimals at most."""
    decimals = digits
    while decimals > 0 and value >= Fraction(10) ** (digits - decimals):
        decimals -= 1
    return _at(value, min(2, decimals)) if value < 10**digits else _at(value, 0)


def _at(value: Fraction, decimals: int) -> Decimal:
    return floor_to(value, Decimal(1).scaleb(-decimals))


def plain(number: Decimal) -> str:
    """Write a number without an exponent or zeros that say nothing."""
    return without_zeros(f"{number:f}")


def _pounds_and_ounces(ounces: Decimal) -> str:
    pounds, rest = divmod(ounces, OUNCES_IN_POUND)
    return f"{pounds} lb {plain(rest)} oz" if rest else f"{pounds} lb"
