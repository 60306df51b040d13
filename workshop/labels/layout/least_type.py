"""The least heights of letters that the law lets a label have."""

from decimal import Decimal
from fractions import Fraction

from workshop.labels.content.label import Label
from workshop.labels.layout.text_blocks import E_MARK_HIGH, FIGURE, SMALL_LETTER
from workshop.rules.labels.net_contents import (
    E_MARK,
    E_MARK_MM,
    smallest_ingredient_type_in,
    smallest_type_eu_mm,
    smallest_type_us,
)

MM_PER_INCH = Decimal("25.4")
WHOLE_PACKAGE_SQ_IN = 12


def least_letter_mm(label: Label) -> Decimal:
    """The least height of any letter on the label, as 21 CFR 701.3(b) and (p) ask for the list."""
    area = 0 if label.product.is_small_package else WHOLE_PACKAGE_SQ_IN
    inches = smallest_ingredient_type_in(area)
    return MM_PER_INCH * inches.numerator / inches.denominator


def least_net_mm(label: Label, panel_sq_in: Fraction) -> Decimal:
    """The least height of a small letter in the net contents, by the main panel's area."""
    if label.law.ounces_first:
        return smallest_type_us(label.design.panel_sq_in or panel_sq_in).mm
    figures = smallest_type_eu_mm(label.product.fill_ml or label.product.fill_g) / FIGURE
    mark = E_MARK_MM / E_MARK_HIGH if E_MARK in label.net_contents else Decimal(0)
    return max(figures, mark) * SMALL_LETTER
