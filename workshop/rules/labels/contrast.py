"""Whether words can be read on their ground: the contrast of two colours."""

import re
from decimal import Decimal

from workshop.rules.errors import RuleError

# WCAG 2.1, success criterion 1.4.6 (enhanced): 7 to 1.
LEAST_CONTRAST = Decimal(7)
_HEX = re.compile(r"#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})", re.IGNORECASE)
_LINEAR_TO = Decimal("0.03928")
_WEIGHTS = (Decimal("0.2126"), Decimal("0.7152"), Decimal("0.0722"))


def luminance(colour: str) -> Decimal:
    """Return the relative luminance of a colour written as #rrggbb, from 0 to 1.

    Error: below 1 in 10^20. Source: WCAG 2.1, relative luminance. Raises: RuleError when it
        cannot be read.

    >>> luminance("#ffffff"), luminance("#000000")
    (Decimal('1.0000'), Decimal('0.0000'))
    """
    weighed = zip(_WEIGHTS, _parts(colour), strict=True)
    whole = sum((weight * _linear(part) for weight, part in weighed), Decimal(0))
    return whole.quantize(Decimal("0.0001"))


def _parts(colour: str) -> list[Decimal]:
    """Red, green and blue, each from 0 to 1."""
    found = _HEX.fullmatch(colour.strip())
    if found is None:
        raise RuleError(f"“{colour}” is no colour. Write it as #b5500f.")
    return [Decimal(int(one, 16)) / 255 for one in found.groups()]


def _linear(part: Decimal) -> Decimal:
    if part <= _LINEAR_TO:
        return part / Decimal("12.92")
    return ((part + Decimal("0.055")) / Decimal("1.055")) ** Decimal("2.4")


def contrast(one: str, other: str) -> Decimal:
    """Return the contrast of two colours, from 1 to 21.

    Error: below 0.01. Source: WCAG 2.1, contrast ratio. Raises: as `luminance`.

    >>> contrast("#000000", "#ffffff"), contrast("#777777", "#ffffff")
    (Decimal('21.0'), Decimal('4.5'))
    """
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    ratio = (high + Decimal("0.05")) / (low + Decimal("0.05"))
    return ratio.quantize(Decimal("0.1"))


def cmyk_of(colour: str) -> tuple[Decimal, Decimal, Decimal, Decimal]:
    """Return a colour as parts of cyan, magenta, yellow and black, each from 0 to 1.

    Black takes the grey there is, so that black and greys are of black ink alone. The print shop
    proofs the colours. Error: rounded to a thousandth. Source: common practice, no source.
    Raises: as `luminance`.

    >>> cmyk_of("#000000"), cmyk_of("#ffffff")[3]
    ((Decimal('0.000'), Decimal('0.000'), Decimal('0.000'), Decimal('1.000')), Decimal('0.000'))
    """
    parts = _parts(colour)
    black = 1 - max(parts)
    rest = 1 - black
    inks = [(rest - part) / rest if rest else Decimal(0) for part in parts]
    cyan, magenta, yellow, key = (one.quantize(Decimal("0.001")) for one in (*inks, black))
    return cyan, magenta, yellow, key
