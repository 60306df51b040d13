"""Statements whose words the law fixes, to be chosen for a product.

Source: 21 CFR part 740; 740.10 and 740.17 were read there, 740.19 is from memory, and so is 21
U.S.C. 364d, which has asked for substantiation of every cosmetic since 2022. The official text and
a qualified person have the last word on which apply.
"""

from typing import NamedTuple

from workshop.labels.models import LabelDesign


class Fixed(NamedTuple):
    """One statement, when it applies, and where it stands."""

    text: str
    applies: str
    source: str


FIXED = {
    "safety": Fixed(
        "Warning—The safety of this product has not been determined.",
        "safety of an ingredient or of the product is not substantiated",
        "21 CFR 740.10",
    ),
    "foaming": Fixed(
        "Caution—Use only as directed. Excessive use or prolonged exposure may cause irritation "
        "to skin and urinary tract. Discontinue use if rash, redness, or itching occurs. Consult "
        "your physician if irritation persists. Keep out of reach of children.",
        "foaming bath products",
        "21 CFR 740.17",
    ),
    "tanning": Fixed(
        "Warning—This product does not contain a sunscreen and does not protect against sunburn. "
        "Repeated exposure of unprotected skin while tanning may increase the risk of skin aging, "
        "skin cancer, and other harmful effects to the skin even if you do not burn.",
        "suntanning products without a sunscreen",
        "21 CFR 740.19",
    ),
}
SUBSTANTIATION = (
    "The law asks for adequate proof that a cosmetic is safe before it is sold (21 U.S.C. 364d). "
    "The sentence “The safety of this product has not been determined” does not stand in for that "
    "proof and is no way around it: have a qualified person assess the product first."
)
CHOICES = [(key, f"{one.applies} ({one.source})") for key, one in FIXED.items()]


def statement_texts(design: LabelDesign) -> list[str]:
    """The chosen statements in the order they stand above."""
    return [one.text for key, one in FIXED.items() if key in design.statements]


def statement_warnings(design: LabelDesign) -> list[str]:
    """What an owner should know of the statements chosen."""
    return [SUBSTANTIATION] if "safety" in design.statements else []
