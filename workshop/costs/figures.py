"""Amounts as pages show them: rounded once, at the very end."""

from decimal import Decimal
from fractions import Fraction

from workshop.core import formatting
from workshop.costs.currencies import DIGITS
from workshop.ledger.models import Lot, Unit
from workshop.rules.money.amounts import rounded
from workshop.rules.money.lot_costs import UnitCost

FINE = 4


def amount(value: Fraction, currency: str) -> str:
    """To the currency's smallest unit, without its name."""
    digits = DIGITS[currency]
    return formatting.number(rounded(value, digits), least=digits, most=digits)


def exact_amount(value: Fraction, currency: str) -> Decimal:
    return rounded(value, DIGITS[currency])


def unit_amount(cost: UnitCost, lot: Lot, currency: str) -> str:
    """Of a kilogram to the smallest unit, of a piece to four decimals; "at least" where due."""
    if lot.item.unit == Unit.GRAM:
        value, per = amount(cost.amount * 1000, currency), "kg"
    else:
        digits = max(FINE, DIGITS[currency])
        value, per = formatting.number(rounded(cost.amount, digits), least=2, most=digits), "piece"
    return f"{at_least(cost)}{value} {currency} a {per}"


def at_least(cost: UnitCost) -> str:
    return "" if cost.is_whole else "at least "
