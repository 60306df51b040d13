"""The cure of a soap: what it lost, whether it is at rest, what it will weigh, and its tests."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import Exact

# Two weighings this far apart tell the loss of a week.
LEAST_DAYS = 6
# Molar mass of sodium hydroxide as the method rounds it, g/mol, and mL to litres, to per cent.
NAOH_FACTOR = Fraction("4.000")


class Weighed(NamedTuple):
    """What was left of a soap on a day, as a fraction of what was poured."""

    day: date
    left: Fraction


def week_loss(points: Sequence[Weighed]) -> Fraction | None:
    """Return what the last week cost, as a fraction, or None before a week was weighed.

    The last weighing is held against the newest one at least six days older, and the loss taken
    to seven days in proportion.

    Units: fraction of the earlier weight. Error: none.
    Source: common practice among makers: released when the loss of a week is below 0.5 %.
    Raises: nothing.

    >>> from datetime import timedelta
    >>> first = date(2026, 3, 2)
    >>> at = [Weighed(first, Fraction(1)), Weighed(first + timedelta(7), Fraction(19, 20))]
    >>> week_loss(at), week_loss(at[:1])
    (Fraction(1, 20), None)
    """
    if not points:
        return None
    last = points[-1]
    older = [one for one in points if (last.day - one.day).days >= LEAST_DAYS]
    if not older:
        return None
    before = older[-1]
    return (1 - last.left / before.left) * 7 / (last.day - before.day).days


def forecast(
    points: Sequence[Weighed], ready: date, *, expected_loss: Fraction | None = None
) -> Fraction | None:
    """Return what is likely to be left on the day it is ready, as a fraction of what was poured.

    From three weighings on, the loss a day is taken to fall as it fell between the last two
    intervals; before that, the formula's expected loss counts. It never grows.

    Units: fractions. Error: a forecast: to a millionth of the curve, which is itself a model.
    Source: five soaps dried in air lost moisture at a rate that decays exponentially (African
        Journal of Engineering and Technology 227323, abstract).
    Raises: nothing; None where there is nothing to go by.

    >>> from datetime import timedelta
    >>> day = lambda n: date(2026, 3, 2) + timedelta(n)
    >>> halving = [Weighed(day(0), Fraction(100, 100)), Weighed(day(7), Fraction(92, 100)),
    ...            Weighed(day(14), Fraction(88, 100))]
    >>> round(forecast(halving, day(21)), 6)
    Fraction(43, 50)
    """
    if not points:
        return None if expected_loss is None else 1 - expected_loss
    last = points[-1]
    if ready <= last.day:
        return last.left
    usual = last.left if expected_loss is None else min(last.left, 1 - expected_loss)
    further = _further_loss(points[-3:], (ready - last.day).days)
    if further is None:
        return None if expected_loss is None else usual
    return max(last.left - further, Fraction())


def _further_loss(points: Sequence[Weighed], days: int) -> Fraction | None:
    """What the loss of three weighings comes to if it goes on falling; None without three."""
    if len(points) < 3:
        return None
    (day0, left0), (day1, left1), (day2, left2) = points
    spans = (day1 - day0).days, (day2 - day1).days
    if min(spans) <= 0:
        return None
    earlier, later = (left0 - left1) / spans[0], (left1 - left2) / spans[1]
    if later <= 0:
        return Fraction()
    if earlier <= later:
        return later * days
    return _decaying(earlier, later, spans, days)


def _decaying(earlier: Fraction, later: Fraction, spans: tuple[int, int], days: int) -> Fraction:
    """The integral of an exponential through the middles of two intervals, `days` further on.

    The mean rate of an interval is taken as the rate in its middle for the ratio, and then as its
    mean for the height, so that equal intervals give the geometric series exactly.
    """
    ratio = _decimal(later / earlier)
    apart = Decimal(spans[0] + spans[1]) / 2
    decay = -ratio.ln() / apart
    last = Decimal(spans[1])
    lost = _decimal(later * spans[1])
    # Lost in the last interval: height x (1 - e^(-k x its days)); then on from its end.
    height = lost / (1 - (-decay * last).exp())
    from_end = height * (-decay * last).exp()
    return Fraction(from_end * (1 - (-decay * days).exp()))


def _decimal(value: Fraction) -> Decimal:
    return Decimal(value.numerator) / Decimal(value.denominator)


def free_alkali_percent(acid_ml: Exact, acid_molar: Exact, soap_g: Exact) -> Fraction:
    """Return the free caustic alkali of a soap, as sodium hydroxide, from a titration.

    Units: mL and mol/L of a monobasic acid, g of soap; per cent comes out. Error: none.
    Source: mL x M x 4.000 / g; a textbook's worked titration in ethanol with barium chloride
        (10.000 g, 2.40 mL of 0.100 M: 0.096 %). Raises: RuleError for what cannot be.

    >>> free_alkali_percent(Decimal("2.40"), Decimal("0.100"), 10)
    Fraction(12, 125)
    """
    if soap_g <= 0 or acid_ml < 0 or acid_molar <= 0:
        raise RuleError("A titration needs grams of soap and an acid of some strength.")
    return Fraction(acid_ml) * Fraction(acid_molar) * NAOH_FACTOR / Fraction(soap_g)


def for_dryness(percent: Exact, fatty_matter: Exact, minimum: Exact) -> Fraction:
    """Return a figure of a soap that has dried as if it still held its minimum of fatty matter.

    Units: per cent, all three. Error: none.
    Source: IS 2888:2004, clause 5.6.2, second-hand: result x minimum / actual fatty matter.
    Raises: RuleError for a fatty matter that no soap has.

    >>> round(float(for_dryness(Decimal("3.5"), Decimal("72.9"), 76)), 2)
    3.65
    """
    if not 0 < fatty_matter <= 100:
        raise RuleError("Total fatty matter lies above 0 and at most at 100 %.")
    return Fraction(percent) * Fraction(minimum) / Fraction(fatty_matter)
