"""How figures and moments are shown, on pages and on paper alike."""

import re
from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.utils import timezone

from workshop.rules.quantities.units import round_to

THIN = "\u202f"
FIGURE_AND_UNIT = re.compile(r"(?<=[0-9]) (?=(?:m?g|kg|m?l|mL|L|oz|fl|lb|%)(?![a-zA-Z]))")
PADDING = f"{THIN}\u2007"


def number(value: Decimal, *, least: int = 0, most: int = 3) -> str:
    """Digits in threes, with at least `least` and at most `most` decimals."""
    text = f"{value:,.{most}f}".replace(",", THIN).replace("-", "−")
    whole, _, decimals = text.partition(".")
    decimals = decimals.rstrip("0").ljust(least, "0")
    return f"{whole}.{decimals}" if decimals else whole


def percent(share: Fraction, places: int = 1) -> str:
    """A share of a whole in per cent, with at most so many decimals.

    >>> percent(Fraction(1, 8)), percent(Fraction(1, 3), 2), percent(Fraction(-1, 200), 0)
    ('12.5\u202f%', '33.33\u202f%', '0\u202f%')
    """
    return f"{number(round_to(100 * share, Decimal(1).scaleb(-places)), most=places)}{THIN}%"


def quantity(value: Decimal, unit: str) -> str:
    """Grams with one decimal or as many as it takes; pieces as they are counted."""
    return number(value, least=1) if unit == "g" else number(value)


def with_unit(value: Decimal, unit: str) -> str:
    return quantity(value, unit) + (f"{THIN}g" if unit == "g" else "")


def counted(value: Decimal, unit: str) -> str:
    """A quantity that stands by itself, so that pieces are called so.

    >>> counted(Decimal(19_800), "g"), counted(Decimal(1), "each"), counted(Decimal(37), "each")
    ('19\u202f800.0\u202fg', '1\u202fpiece', '37\u202fpieces')
    """
    if unit == "g":
        return with_unit(value, unit)
    return f"{number(value)}{THIN}{'piece' if value == 1 else 'pieces'}"


def unbroken(words: str) -> str:
    """Words in which no line ends between a figure and its unit.

    >>> unbroken("Hand salve 60 g, 2 fl oz, 4 grapes")
    'Hand salve 60\u202fg, 2\u202ffl oz, 4 grapes'
    """
    return FIGURE_AND_UNIT.sub(THIN, words)


def day(value: date) -> str:
    return f"{value.day} {value:%b %Y}"


def moment(value: datetime) -> str:
    local = timezone.localtime(value)
    return f"{day(local.date())}, {local:%H:%M}"


def in_words(value: Any) -> str:
    """A value of any field as a person reads it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Decimal):
        return number(value, most=4)
    if isinstance(value, datetime):
        return moment(value)
    if isinstance(value, date):
        return day(value)
    return str(value)


def on_the_point(figures: Sequence[str]) -> list[str]:
    """Figures of one column, padded at the right so that their decimal points stand in one line.

    A figure space is as wide as a digit; two narrow ones are as wide as a point in our typeface.

    >>> on_the_point(["12.5", "3", "0.25"])
    ['12.5\\u2007', '3\\u202f\\u202f\\u2007\\u2007', '0.25']
    """
    decimals = [figure.partition(".")[2] for figure in figures]
    most = max(map(len, decimals), default=0)
    return [
        figure + ("" if own or not most else 2 * THIN) + "\u2007" * (most - len(own))
        for figure, own in zip(figures, decimals, strict=True)
    ]
