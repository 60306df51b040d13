"""The net contents as a label states them in its market, and what is to be known of them."""

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction

from workshop.core.formatting import number
from workshop.packing.models import Product
from workshop.packing.promises import stated_eu
from workshop.rules.labels.net_contents import (
    FROM_POUNDS_OZ,
    OUNCES_IN_POUND,
    NetContents,
    plain,
)
from workshop.rules.markets.laws import law_of
from workshop.rules.quantities.units import ceil_to, ounces_to_grams, round_to

# Our own choice: from this part on it is said that the ounces tell less than the grams.
MUCH_LESS = Fraction(1, 20)
HUNDREDTH = Decimal("0.01")


def net_contents(product: Product, market: str, us: NetContents, *, has_e_mark: bool) -> str:
    """Both systems, the one that the market asks for first; of a volume, as US fluid ounces are
    not those of Britain, there the metric one alone.
    """
    if law_of(market).ounces_first:
        return us.text
    eu = stated_eu(product, e_mark=has_e_mark)
    return eu if product.fill_ml else f"{eu} ({_in_brackets(us)})"


def _in_brackets(us: NetContents) -> str:
    """The weight beside the metric one, in pounds where nobody would count ounces."""
    if us.ounces >= FROM_POUNDS_OZ:
        return f"{plain(us.ounces / OUNCES_IN_POUND)} lb"
    return f"{plain(us.ounces)} oz"


def contents_warnings(product: Product, market: str, us: NetContents) -> Iterable[str]:
    """Where a small pack's ounces say much less than its grams: 21 CFR 701.13(d) and (s)."""
    said = ounces_to_grams(us.ounces)
    if not law_of(market).ounces_first or product.fill_ml:
        return
    if said < Fraction(us.grams) * (1 - MUCH_LESS):
        more = us.ounces + HUNDREDTH
        from_g = ceil_to(ounces_to_grams(more), HUNDREDTH)
        yield (
            f"“{plain(us.ounces)} oz” is {number(round_to(said, HUNDREDTH))} g of the "
            f"{plain(us.grams)} g inside: 21 CFR 701.13(d) allows no third decimal. "
            f"From {plain(from_g)} g on the label says {plain(more)} oz."
        )
