"""What an ingredient is under an organic scheme, and which claims it stands in the way of."""

from collections.abc import Iterator
from typing import Literal

from workshop.rules.ingredients.composition import Composition, Constituent

OrganicStatus = Literal[
    "", "organic", "listed_a", "listed_b", "listed_made_with", "listed_606",
    "listed_606_unsearched", "agricultural", "prohibited", "water", "salt",
]  # fmt: skip
LEFT_OUT = ("water", "salt")
ASK_ABOUT = "An owner enters it under Materials."
PROHIBITED = "{name} is prohibited or not allowed{why}."
# Why an ingredient of that status may not be in a product of that claim; what is not named, may.
REFUSED: dict[str, dict[str, str]] = {
    "organic": {
        "": f"{{name}} is not organic, and nothing says what else it is. {ASK_ABOUT}",
        "agricultural": (
            "{name} is an agricultural ingredient that is not organic. In a product called "
            "organic it must be organic, unless 7 CFR 205.606 lists it and no organic form is "
            "commercially available."
        ),
        "listed_606_unsearched": (
            "{name} is listed in 7 CFR 205.606, but no search shows that no organic form is "
            "commercially available."
        ),
        "listed_made_with": "{name} is listed only for products made with organic ingredients.",
        "prohibited": PROHIBITED,
    },
    "made with organic": {
        "": f"{{name}} is not organic, and nothing says what else it is. {ASK_ABOUT}",
        "prohibited": PROHIBITED,
    },
}


def is_left_out(part: Constituent) -> bool:
    """Say whether an ingredient counts neither as organic nor as the rest: added water, salt.

    Source: 7 CFR 205.302(a); that salt is sodium chloride, and water what is added as such, from
        memory.

    >>> is_left_out(Constituent("Aqua", kind="water")), is_left_out(Constituent("Oil"))
    (True, False)
    """
    return part.kind in LEFT_OUT or part.status in LEFT_OUT


def the_rest(composition: Composition) -> list[Constituent]:
    """Return the ingredients that are not organic, water and salt aside, the greatest first.

    What a plant that was strained out left behind weighs nothing and is among them all the same.

    >>> from fractions import Fraction
    >>> oil, wax = Constituent("Oil", is_organic=True), Constituent("Wax")
    >>> [part.inci_name for part in the_rest({oil: Fraction(4, 5), wax: Fraction(1, 5)})]
    ['Wax']
    """
    held = (p for p, share in composition.items() if share or p.kind == "extract")
    parts = [part for part in held if not part.is_organic]
    counted = [part for part in parts if not is_left_out(part)]
    return sorted(counted, key=lambda part: (-composition[part], part.inci_name))


def rest_problems(composition: Composition, claim: str) -> Iterator[str]:
    """Yield why the ingredients that are not organic may not be under a claim, each by its name.

    Units: none. Error: none.
    Source: 7 CFR 205.301(a): no rest at all; (b): the rest organic unless not commercially
        available, or on the National List (205.605, 205.606); (c): the rest free of what is
        prohibited, and what is not agricultural on the National List. Which ingredients a list
        names is the workshop's data. The certifier has the last word.
    Raises: nothing.

    >>> from fractions import Fraction
    >>> oil, lye = Constituent("Oil", is_organic=True), Constituent("Lye", status="listed_b")
    >>> parts = {oil: Fraction(19, 20), lye: Fraction(1, 20)}
    >>> list(rest_problems(parts, "organic")), list(rest_problems(parts, "100 percent organic"))
    ([], ['Lye is not organic.'])
    """
    for part in the_rest(composition):
        if claim == "100 percent organic":
            yield f"{part.inci_name} is not organic."
        elif part.status in (refused := REFUSED.get(claim, {})):
            why = f": {part.prohibited_for}" if part.prohibited_for else ""
            yield refused[part.status].format(name=part.inci_name, why=why)
