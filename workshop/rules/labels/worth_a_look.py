"""What is worth a look on a label although it is not untrue."""

from collections.abc import Iterable
from fractions import Fraction
from itertools import pairwise

from workshop.rules.ingredients.declaration import Declaration, DeclaredIngredient
from workshop.rules.labels.share_wording import percent, percents

CLOSE = Fraction(1, 100)


def close_neighbours(declaration: Declaration) -> list[str]:
    """Return a sentence for each two neighbours in a list whose order weighing will turn over.

    Those are ingredients above the any-order group whose shares differ by under 1 % of the
    greater one, so that another lot may well hold more of the second.

    Units: fractions of the whole. Error: none.
    Source: common practice, no source: a weighing is rarely better than 1 % of its weight.
    Raises: nothing.

    >>> from workshop.rules.ingredients.composition import Constituent
    >>> from workshop.rules.ingredients.declaration import declare
    >>> parts = {Constituent("Oil"): Fraction(504, 1000), Constituent("Wax"): Fraction(496, 1000)}
    >>> close_neighbours(declare(parts, "US"))
    []
    >>> parts = {Constituent("Oil"): Fraction(502, 1000), Constituent("Wax"): Fraction(498, 1000)}
    >>> close_neighbours(declare(parts, "US"))[0][:63]
    'Oil (50.2 %) and Wax (49.8 %) are so close that their order may'
    """
    main = [entry for entry in declaration.entries if entry.group == "main"]
    close = [
        (first, second)
        for first, second in pairwise(main)
        if first.share - second.share < first.share * CLOSE
    ]
    return [_close_sentence(first, second) for first, second in close]


def _close_sentence(first: DeclaredIngredient, second: DeclaredIngredient) -> str:
    more, less = percents(first.share, second.share)
    return (
        f"{first.name} ({more}) and {second.name} ({less}) are so close that their order may turn "
        "over from lot to lot, and the label would then no longer match. Set their shares in the "
        "formula further apart."
    )


def colours_for_the_list(
    names: Iterable[str], may_contain: Iterable[str], declaration: Declaration, lot: str
) -> list[str]:
    """Return a sentence for each colour that is in a lot, and printed only as "may contain".

    `names` and `may_contain` are those printed; `declaration` is the list of the lot.

    Units: names as in the entries. Error: none.
    Source: Regulation (EC) 1223/2009, article 19(1)(g), lets a range of decorative shades name
        all its colours so; 21 CFR 701.3(g) speaks of a colour that is not in the product, added to
        some batches to match or used in other shades of the line.
    Raises: nothing.

    >>> from workshop.rules.ingredients.composition import Constituent
    >>> from workshop.rules.ingredients.declaration import declare, read_colour
    >>> red = read_colour("CI 77491")
    >>> lot = declare({Constituent("Talc"): Fraction(49, 50), red: Fraction(1, 50)}, "EU")
    >>> colours_for_the_list(["Talc"], ["CI 77491"], lot, "L")[0][:44]
    'Lot L holds CI 77491 (2 %), which the label '
    """
    printed, sometimes = set(names), set(may_contain)
    return [
        f"Lot {lot} holds {entry.name} ({percent(entry.share)}), which the label gives only after "
        "“may contain”. That is for colours of other batches or shades: what is in this one "
        "belongs in the list itself."
        for entry in declaration.entries
        if entry.name in sometimes and entry.name not in printed
    ]
