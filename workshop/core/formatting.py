"""How figures and moments are shown, on pages and on paper alike."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.utils import timezone

THIN = "\u202f"


def number(value: Decimal, *, least: int = 0, most: int = 3) -> str:
    """Digits in threes, with at least `least` and at most `most` decimals."""
    text = f"{value:,.{most}f}".replace(",", THIN).replace("-", "−")
    whole, _, decimals = text.partition(".")
    decimals = decimals.rstrip("0").ljust(least, "0")
    return f"{whole}.{decimals}" if decimals else whole


def quantity(value: Decimal, unit: str) -> str:
    """Grams with one decimal or as many as it takes; pieces as they are counted."""
    return number(value, least=1) if unit == "g" else number(value)


def with_unit(value: Decimal, unit: str) -> str:
    return quantity(value, unit) + (f"{THIN}g" if unit == "g" else "")


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
