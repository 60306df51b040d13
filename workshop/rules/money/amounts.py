"""Amounts in a currency's smallest unit: read, rounded once, and shared out to the last cent."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import Exact


def refuse_finer(amount: Decimal, digits: int, currency: str) -> None:
    """Refuse an amount finer than the currency's smallest unit.

    Source: ISO 4217, minor units: none for JPY, two for USD and EUR, three for KWD.
    Raises: RuleError.

    >>> refuse_finer(Decimal("1.50"), 2, "EUR")
    >>> refuse_finer(Decimal("1234.5"), 0, "JPY")
    Traceback (most recent call last):
    workshop.rules.errors.RuleError: An amount in JPY has no decimals.
    """
    if amount != amount.quantize(Decimal(1).scaleb(-digits)):
        places = "no decimals" if digits == 0 else f"at most {digits} decimals"
        raise RuleError(f"An amount in {currency} has {places}.")


def rounded(amount: Exact, digits: int) -> Decimal:
    """Return the amount to the currency's smallest unit, a half away from nought.

    Units: the currency. Error: half of its smallest unit. Source: half up, common practice.

    >>> rounded(Fraction("2.665"), 2), rounded(Fraction(1005, 1000), 2), rounded(Fraction(-1, 8), 2)
    (Decimal('2.67'), Decimal('1.01'), Decimal('-0.13'))
    """
    units = abs(Fraction(amount)) * 10**digits + Fraction(1, 2)
    whole = units.numerator // units.denominator
    return Decimal(-whole if amount < 0 else whole).scaleb(-digits)


def shared_out(total: Decimal, weights: Sequence[Exact], digits: int) -> list[Decimal]:
    """Return one part of the total for each weight, in proportion; the parts add up to it.

    What is left of the smallest units goes one each to the largest remainders, earlier lines
    first. Units: the currency; weights in any unit that all of them share.
    Error: under one smallest unit a part, none in the sum. Source: method of largest remainders.
    Raises: RuleError where the total is finer than the digits, or there is nothing to go by.

    >>> [str(part) for part in shared_out(Decimal("45.00"), [25, 10], 2)]
    ['32.14', '12.86']
    """
    exact = [Fraction(weight) for weight in weights]
    whole = sum(exact, Fraction())
    if whole <= 0 or min(exact) < 0:
        raise RuleError("There is nothing by which the amount could be shared out.")
    units = total.scaleb(digits)
    if units != units.to_integral_value():
        raise RuleError("The amount is finer than its currency.")
    quotas = [abs(int(units)) * weight / whole for weight in exact]
    parts = [int(quota) for quota in quotas]
    left = abs(int(units)) - sum(parts)
    by_remainder = sorted(range(len(parts)), key=lambda place: parts[place] - quotas[place])
    for place in by_remainder[:left]:
        parts[place] += 1
    sign = -1 if units < 0 else 1
    return [Decimal(sign * part).scaleb(-digits) for part in parts]


def net_price(
    price: Decimal, *, quantity: Exact, is_each: bool, discount_percent: Decimal = Decimal(0)
) -> Fraction:
    """Return what a line of an invoice comes to before tax, its discount taken off.

    Units: the currency; quantity in the unit that the price is for. Error: none.
    Source: IAS 2.11, the cost of purchase is less trade discounts; tax that is paid back is apart.

    >>> net_price(Decimal("6.00"), quantity=25, is_each=True, discount_percent=Decimal(10))
    Fraction(135, 1)
    """
    gross = Fraction(price) * (Fraction(quantity) if is_each else 1)
    return gross * (1 - Fraction(discount_percent) / 100)


def margin_percent(price: Exact, cost: Exact) -> Fraction | None:
    """Return what is left of the price after the cost, in percent of the price; none of nought.

    >>> margin_percent(10, 4)
    Fraction(60, 1)
    """
    if price == 0:
        return None
    return (Fraction(price) - Fraction(cost)) / Fraction(price) * 100


def overhead_absorbed(labour: Exact, percent: Exact) -> Fraction:
    """Return the overhead that goes with labour at a rate set beforehand, in percent of it.

    Units: the currency. Error: none. Source: IAS 2.12 to 13; job costing at a predetermined rate.

    >>> overhead_absorbed(66, 250)
    Fraction(165, 1)
    """
    return Fraction(labour) * Fraction(percent) / 100


def stock_turn(gone: Exact, opening: Exact, closing: Exact) -> Fraction | None:
    """Return how often the stock was turned over: what went out at cost, by the stock's mean.

    Units: all three in one currency, over one period. Error: none; the mean of two days stands
    for the period. Source: any text on accounting. None where there was no stock.

    >>> round(float(stock_turn(7200, 3150, 8955)), 2)
    1.19
    """
    mean = (Fraction(opening) + Fraction(closing)) / 2
    return Fraction(gone) / mean if mean > 0 else None


def days_of_stock(turns: Exact, days: int) -> Fraction:
    """Return how many days a stock lasts that was turned over so often in so many days.

    Units: days. Error: none. Source: any text on accounting. Turns lie above zero.

    >>> days_of_stock(4, 365)
    Fraction(365, 4)
    """
    return days / Fraction(turns)
