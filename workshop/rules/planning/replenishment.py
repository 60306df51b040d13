"""When to order what is not planned, and how much: reorder point, order up to, packs."""

from decimal import Decimal
from fractions import Fraction

from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import Exact
from workshop.rules.quantities.variance_and_limits import root

# How many deviations cover so many per cent of lead times, one-sided normal distribution.
DEVIATIONS = {90: Decimal("1.2816"), 95: Decimal("1.6449"), 98: Decimal("2.0537")}
USUAL = DEVIATIONS[95]


def safety_stock(
    variance: Exact,
    lead: Exact,
    *,
    mean: Exact = 0,
    lead_variance: Exact = 0,
    deviations: Decimal = USUAL,
) -> Decimal:
    """Return the stock that covers demand above its mean while an order is on its way.

    Units: mean and variance of demand per period, lead in the same periods.
    Error: a hundred-thousandth.
    Source: z times the root of L s² + d² s_L², as in any text on stock control.
    Raises: RuleError below zero.

    >>> safety_stock(4, 3, deviations=Decimal("1.65"))
    Decimal('5.71577')
    """
    if min(Fraction(variance), Fraction(lead), Fraction(lead_variance)) < 0:
        raise RuleError("Neither a lead time nor a variance is below zero.")
    square = Fraction(lead) * Fraction(variance) + Fraction(mean) ** 2 * Fraction(lead_variance)
    return (root(square) * deviations).quantize(Decimal("0.00001"))


def reorder_point(
    mean: Exact,
    variance: Exact,
    lead: Exact,
    *,
    lead_variance: Exact = 0,
    deviations: Decimal = USUAL,
) -> Fraction:
    """Return the stock, with what is on order, at which to order again.

    Units, error, source: as `safety_stock`, to which the mean demand of the lead time is added.

    >>> round(float(reorder_point(5, 4, 3)), 2)
    20.7
    """
    spare = safety_stock(
        variance, lead, mean=mean, lead_variance=lead_variance, deviations=deviations
    )
    return Fraction(mean) * Fraction(lead) + Fraction(spare)


def order_up_to(
    mean: Exact, variance: Exact, lead: Exact, review: Exact, *, deviations: Decimal = USUAL
) -> Fraction:
    """Return the stock, with what is on order, that an order fills up to.

    The next chance to order comes a review later, so both spans are covered.

    Units, error: as `safety_stock`. Source: periodic review, from memory.

    >>> round(float(order_up_to(30, 25, 4, 7)), 2)
    357.28
    """
    return reorder_point(mean, variance, Fraction(lead) + Fraction(review), deviations=deviations)


def order_amount(need: Exact, *, pack: Exact | None = None, least: Exact | None = None) -> Fraction:
    """Return what to order for a need: whole packs, and no less than the order minimum.

    Units: one unit throughout. Error: none. Source: common practice, no source.
    Raises: RuleError for a pack that is not above zero.

    >>> [int(order_amount(need, pack=25, least=50)) for need in (1, 26, 61, 0)]
    [50, 50, 75, 0]
    """
    if need <= 0:
        return Fraction()
    wanted = max(Fraction(need), Fraction(least or 0))
    if pack is None:
        return wanted
    if pack <= 0:
        raise RuleError("A pack holds more than nothing.")
    return -(-wanted // Fraction(pack)) * Fraction(pack)


def most_before_expiry(days_left: int, margin_days: int, per_day: Exact) -> Fraction:
    """Return how much can be used up before it expires: never buy or make more.

    Units: days; an amount a day. Error: none. Source: common practice, no source.

    >>> most_before_expiry(100, 10, 3), most_before_expiry(5, 10, 3)
    (Fraction(270, 1), Fraction(0, 1))
    """
    return max(days_left - margin_days, 0) * Fraction(per_day)


def economic_amount(per_year: Exact, order_cost: Exact, holding: Exact) -> Decimal:
    """Return the amount that makes ordering and holding together cheapest.

    Units: use a year, money an order, money a unit and year. Error: a millionth.
    Source: Harris (1913), Wilson (1934); the square root of 2DK/h.
    Raises: RuleError where holding costs nothing.

    >>> economic_amount(1000, 10, Decimal("0.5"))
    Decimal('200.000000')
    """
    if holding <= 0:
        raise RuleError("Without a cost of holding stock no amount is the cheapest.")
    return root(2 * Fraction(per_year) * Fraction(order_cost) / Fraction(holding))
