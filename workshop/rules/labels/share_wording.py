"""Shares as the sentences about labels write them."""

from decimal import Decimal
from fractions import Fraction

from workshop.rules.quantities.units import show_number, without_zeros


def percent(share: Fraction) -> str:
    """Return a share in per cent with as many decimals as keep two of its digits.

    Units: fraction of the whole in, per cent out. Error: half of the last digit shown.
    Source: common practice, no source. Raises: nothing.

    >>> percent(Fraction(1, 100000)), percent(Fraction(1, 8))
    ('0.001 %', '12.5 %')
    """
    steps = (Decimal(1).scaleb(-places) for places in (4, 6, 8))
    step = next(
        (step for step in steps if share * 100 >= 10 * Fraction(step)), Decimal("0.00000001")
    )
    return f"{without_zeros(show_number(share * 100, step))} %"


def percents(more: Fraction, less: Fraction) -> tuple[str, str]:
    """Return two shares in per cent with enough decimals to be told apart.

    Units, error, source, raises: as `percent`.

    >>> percents(Fraction(5001, 10000), Fraction(1, 2))
    ('50.01 %', '50 %')
    """
    for places in ("0.01", "0.0001", "0.000001", "0.0000000001"):
        shown = [without_zeros(show_number(each * 100, Decimal(places))) for each in (more, less)]
        if shown[0] != shown[1]:
            break
    return f"{shown[0]} %", f"{shown[1]} %"
