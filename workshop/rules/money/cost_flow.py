"""What is taken from several purchases costs: by the very lot, oldest first, by moving average."""

from collections.abc import Iterable
from fractions import Fraction
from typing import NamedTuple

from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import Exact

SHORT = "More is taken than there is."


class Move(NamedTuple):
    """One movement in the order of time: what came in with its value, or what was taken."""

    came_in: Exact = 0
    value: Exact = 0
    taken: Exact = 0


class Flow(NamedTuple):
    """In the currency: what was taken, and what is left."""

    taken: Fraction
    left: Fraction


def moving_average(moves: Iterable[Move]) -> Flow:
    """Return the cost of what was taken at the average of what was there each time.

    Value and quantity are kept, never a rounded unit cost. Units: the currency. Error: none.
    Source: IAS 2.25 and 2.27, weighted average calculated as each shipment is received.
    Raises: RuleError where more is taken than there is.
    """
    quantity = value = gone = Fraction()
    for move in moves:
        quantity += Fraction(move.came_in)
        value += Fraction(move.value)
        if move.taken > quantity:
            raise RuleError(SHORT)
        if move.taken:
            cost = value * Fraction(move.taken) / quantity
            quantity, value, gone = quantity - Fraction(move.taken), value - cost, gone + cost
    return Flow(gone, value)


def first_in_first_out(moves: Iterable[Move]) -> Flow:
    """Return the cost of what was taken, the oldest purchase always first.

    Units: the currency. Error: none. Source: IAS 2.25 and 2.27.
    Raises: RuleError where more is taken than there is.
    """
    layers: list[tuple[Fraction, Fraction]] = []  # quantity, value; oldest first
    gone = Fraction()
    for move in moves:
        if move.came_in:
            layers.append((Fraction(move.came_in), Fraction(move.value)))
        wanted = Fraction(move.taken)
        while wanted:
            if not layers:
                raise RuleError(SHORT)
            quantity, value = layers.pop(0)
            used = min(wanted, quantity)
            gone += value * used / quantity
            wanted -= used
            if used < quantity:
                layers.insert(0, (quantity - used, value * (quantity - used) / quantity))
    return Flow(gone, sum((value for _, value in layers), Fraction()))
