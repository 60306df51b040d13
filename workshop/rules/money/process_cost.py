"""What a process costs a good unit: usual loss is in it, what else is lost is not."""

from fractions import Fraction
from typing import NamedTuple

from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import Exact


class ProcessCost(NamedTuple):
    """In the currency: of one good unit, of all good output, of what was lost beyond the usual.

    `abnormal` is below nought where less was lost than usual: a gain.
    """

    unit: Fraction
    good: Fraction
    abnormal: Fraction


def process_cost(
    cost: Exact, *, units_in: Exact, normal_loss: Exact, good: Exact, scrap_value: Exact = 0
) -> ProcessCost:
    """Return the cost of a process per good unit, with normal loss borne by the good output.

    Unit cost = (cost - scrap value of the normal loss) / (units in - normal loss).
    Units: cost and scrap value in the currency, the rest in one unit of quantity. Error: none.
    Source: IAS 2.16 (abnormal waste is no cost of inventories); process costing as taught.
    Raises: RuleError where nothing but loss is expected.

    >>> process_cost(20_700, units_in=1000, normal_loss=100, good=800, scrap_value=180)
    ProcessCost(unit=Fraction(114, 5), good=Fraction(18240, 1), abnormal=Fraction(2280, 1))
    """
    expected = Fraction(units_in) - Fraction(normal_loss)
    if expected <= 0:
        raise RuleError("A process of which nothing is expected has no cost per unit.")
    unit = (Fraction(cost) - Fraction(scrap_value)) / expected
    return ProcessCost(unit, unit * Fraction(good), unit * (expected - Fraction(good)))


def overhead_absorbed(labour: Exact, percent: Exact) -> Fraction:
    """Return the overhead that goes with labour at a rate set beforehand, in percent of it.

    Source: IAS 2.12 to 13; job costing with a predetermined rate.

    >>> overhead_absorbed(66, 250)
    Fraction(165, 1)
    """
    return Fraction(labour) * Fraction(percent) / 100
