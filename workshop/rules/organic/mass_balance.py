"""A balance of mass: what came in, what went out, what is there, and what nobody can explain."""

from dataclasses import dataclass, fields
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from workshop.rules.errors import RuleError

Verdict = Literal["adds up", "small shortage", "large shortage", "more than there can be"]


@dataclass(frozen=True)
class MassBalance:
    """A balance over a period, in thousandths of a gram or of a piece.

    What came in and what went out count upwards; `counted` is what stock counts changed, below
    zero where less was found than the book said; `taken_over` was there before the book began.
    """

    opening: int = 0
    taken_over: int = 0
    received: int = 0
    made: int = 0
    returned: int = 0
    used: int = 0
    sent: int = 0
    written_off: int = 0
    shed: int = 0
    counted: int = 0

    @property
    def available(self) -> int:
        """A + B: what was there and what came."""
        return self.opening + self.taken_over + self.received + self.made

    @property
    def outgoing(self) -> int:
        """C as recorded: what went out, less what came back."""
        return self.used + self.sent + self.written_off + self.shed - self.returned

    @property
    def expected(self) -> int:
        """What should be there, before anybody counts."""
        return self.available - self.outgoing

    @property
    def closing(self) -> int:
        """D: what is there by the book, counts included."""
        return self.expected + self.counted

    @property
    def unexplained(self) -> int:
        """What counts found missing; below zero where they found more."""
        return -self.counted

    @property
    def unexplained_share(self) -> Fraction | None:
        """Of what was available; None where nothing was."""
        return Fraction(self.unexplained, self.available) if self.available else None

    def __add__(self, other: "MassBalance") -> "MassBalance":
        names = [each.name for each in fields(self)]
        return MassBalance(**{name: getattr(self, name) + getattr(other, name) for name in names})

    def times(self, grams: Decimal) -> "MassBalance":
        """The same in thousandths of a gram, where one piece weighs so many grams.

        Exact for whole pieces and a weight of at most three decimal places.
        """
        return MassBalance(
            **{each.name: int(getattr(self, each.name) * grams) for each in fields(self)}
        )


def verdict(balance: MassBalance, tolerance_percent: Fraction) -> Verdict:
    """Return what a balance says of itself.

    Units: per cent of what was available. Error: none.
    Source: inputs account for outputs, 7 CFR 205.403(d)(4); more out than there can be is the sign
        of fraud that certifiers look for. No rule sets a tolerance: it is the workshop's own.
    Raises: nothing.

    >>> wax = MassBalance(opening=120, received=400, used=430, shed=3, counted=-2)
    >>> verdict(wax, Fraction(1)), verdict(MassBalance(opening=1, used=2), Fraction(1))
    ('small shortage', 'more than there can be')
    """
    if balance.unexplained < 0 or balance.closing < 0:
        return "more than there can be"
    if balance.unexplained == 0:
        return "adds up"
    share = balance.unexplained_share
    is_small = share is not None and share * 100 <= tolerance_percent
    return "small shortage" if is_small else "large shortage"


def needed_g(units: int, net_g: Fraction, yield_share: Fraction, share: Fraction) -> Fraction:
    """Return the grams of an ingredient that finished units needed.

    Units: pieces, grams in one, part of the charge that is filled, part of the charge that is the
        ingredient. Error: none. Source: common practice, no source.
    Raises: RuleError for a yield that is not above zero.

    >>> grams = needed_g(1880, Fraction(30), Fraction(96, 100), Fraction(25, 100))
    >>> float(grams)
    14687.5
    """
    if yield_share <= 0:
        raise RuleError("A yield lies above zero.")
    return units * net_g * share / yield_share


@dataclass(frozen=True)
class Claimed:
    """Organic content in milligrams: bought or there at first, made into products, sold."""

    bought: int
    made: int
    sold: int


def claim_holds(claimed: Claimed) -> bool:
    """Say whether no more was sold as organic than made, and no more made than bought.

    Units: mg of organic ingredients. Error: none; a yield below 1 only widens the distance.
    Source: 7 CFR 205.403(d)(4). Raises: nothing.

    >>> claim_holds(Claimed(bought=10, made=9, sold=9)), claim_holds(Claimed(10, 11, 9))
    (True, False)
    """
    return claimed.sold <= claimed.made <= claimed.bought
