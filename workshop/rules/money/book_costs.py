"""What every lot of a whole book cost, in whole numbers of a part so small that none is missed.

`lot_costs` answers in fractions, exactly, for the lots that a page asks for. Over a book of a
hundred thousand lots the denominators of such fractions grow without end; here each cost is cut to
a `FINE` part, and only the sums are rounded.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import floor
from operator import mul
from typing import NamedTuple

from workshop.rules.errors import RuleError

# Parts of the currency's unit that a cost is reckoned in. Each division loses less than one of
# them; a sum of a million lots of a tonne, twenty levels deep, still less than 10^-20.
FINE = 10**40
TOLD = 10**20
# The ledger's quantities: thousandths of a gram or of a piece.
PARTS_OF_UNIT = 1000


class Act(NamedTuple):
    """One operation that made lots of others; quantities in thousandths of each lot's unit.

    `lots` and `taken` go together: one for each posting, below nought where it took something.
    `added` is labour and overhead in fine parts; the others are as in `lot_costs.Making`.
    """

    key: int
    lots: Sequence[int]
    taken: Sequence[int | Fraction]
    made: Mapping[int, int | Fraction]
    added: int = 0
    is_added_known: bool = True
    spilled: int = 0
    is_over: bool = True


@dataclass(frozen=True)
class BookCosts:
    """In fine parts: the cost of a thousandth of each lot's unit, and by act what it lost.

    `in_work` is what an act holds today: what it took and what was added, less what it lost and
    put out. `lacking` are the lots whose price, or that of something in them, is not known.
    """

    each: dict[int, int] = field(default_factory=dict)
    lacking: set[int] = field(default_factory=set)
    lost: dict[int, int] = field(default_factory=dict)
    in_work: dict[int, int] = field(default_factory=dict)

    def worth(self, lot: int, thousandths: int | Fraction) -> int:
        return floor(self.each.get(lot, 0) * thousandths)


def fine(amount: Fraction) -> int:
    """Return an amount in fine parts.

    Units: the currency. Error: below 10^-40 of its unit.

    >>> fine(Fraction(1, 4)) * 4 == FINE
    True
    """
    return floor(amount * FINE)


def fine_each(total: Fraction, quantity: Fraction) -> int:
    """Return what a thousandth of a unit cost, in fine parts, of a quantity bought at a total.

    Units: the currency, and the lot's unit. Error: below 10^-40 of the currency's unit.

    >>> fine_each(Fraction(30), Fraction(1)) * 1000 == 30 * FINE
    True
    """
    return floor(total * FINE / (quantity * PARTS_OF_UNIT))


def told(fine_parts: int) -> Fraction:
    """Return a sum of fine parts as an amount.

    To 20 decimals, so that what divisions cut off does not show, and a half of a cent is a half.

    Units: the currency. Error: half of 10^-20 of its unit.

    >>> told(FINE // 3 * 3), told(FINE // 8)
    (Fraction(1, 1), Fraction(1, 8))
    """
    cut = FINE // TOLD
    return Fraction((fine_parts + cut // 2) // cut, TOLD)


def book_costs(
    bought: Mapping[int, int | None], makers: Mapping[int, int], acts: Iterable[Act]
) -> BookCosts:
    """Return the cost of every lot that came in or was made, by the very lots that went into it.

    `bought` has for each lot that came in the fine parts that a thousandth of its unit cost, None
    where no price is known; `makers`, of how many acts each lot came out. It answers as
    `lot_costs` does, to a fine part a division.

    Units: fine parts. Error: as `FINE` says. Source: IAS 2.23, specific identification.
    Raises: RuleError where a lot is made of itself.

    >>> book_costs({1: 1}, {2: 1}, [Act(7, [1], [-80], {2: 40}, added=10)]).each
    {1: 1, 2: 2}
    """
    walk = _Walk(bought, makers)
    # Nearly every act comes after those that made what it took; the others wait a round or two.
    waiting = [act for act in acts if not walk.reckoned(act)]
    while waiting:
        later = [act for act in waiting if not walk.reckoned(act)]
        if len(later) == len(waiting):
            raise RuleError("A lot is made of itself; its cost cannot be determined.")
        waiting = later
    walk.settle()
    return walk.costs


class _Shared(NamedTuple):
    """What several acts put into one lot, as far as they are known."""

    amount: int = 0
    quantity: int | Fraction = 0
    by: tuple[tuple[int, int, int | Fraction], ...] = ()


class _Walk:
    """Costs act by act, each after those that it took from."""

    def __init__(self, bought: Mapping[int, int | None], makers: Mapping[int, int]) -> None:
        self.makers = makers
        self.shared: dict[int, _Shared] = {}
        came = {lot: amount for lot, amount in bought.items() if lot not in makers}
        self.costs = BookCosts(
            {lot: amount or 0 for lot, amount in came.items()},
            {lot for lot, amount in came.items() if amount is None},
        )

    def reckoned(self, act: Act) -> bool:
        """Whether all that it took was known, and its costs are now."""
        each = self.costs.each
        try:
            took = -floor(sum(map(mul, map(each.__getitem__, act.lots), act.taken)))
        except KeyError:
            return self._came_from_nowhere(act) and self.reckoned(act)
        cost = took + act.added
        borne_by = sum(act.made.values()) + act.spilled
        for lot, quantity in act.made.items():
            self._bear(act.key, lot, floor(cost // borne_by), quantity)
        if not self._is_whole(act):
            self.costs.lacking.update(act.made)
        if act.spilled or not act.made:
            # What no lot bears is lost as the act ends; until then it is in work.
            unborne = floor(cost * act.spilled // borne_by) if act.made else cost
            (self.costs.lost if act.is_over else self.costs.in_work)[act.key] = unborne
        return True

    def _came_from_nowhere(self, act: Act) -> bool:
        """Count for nothing what neither came in nor was made; False where some is still made."""
        missing = [lot for lot in act.lots if lot not in self.costs.each]
        if any(lot in self.makers for lot in missing):
            return False
        self.costs.each.update(dict.fromkeys(missing, 0))
        self.costs.lacking.update(missing)
        return True

    def _is_whole(self, act: Act) -> bool:
        lacking = self.costs.lacking
        if not act.is_added_known or not lacking or lacking.isdisjoint(act.lots):
            return act.is_added_known
        # What was taken and given back again does not count.
        net: dict[int, int | Fraction] = {}
        for lot, quantity in zip(act.lots, act.taken, strict=True):
            if lot in lacking:
                net[lot] = net.get(lot, 0) + quantity
        return not any(net.values())

    def _bear(self, act: int, lot: int, each: int, quantity: int | Fraction) -> None:
        """A lot that several acts made costs what they cost together, once all are known."""
        if self.makers[lot] == 1:
            self.costs.each[lot] = each
            return
        before = self.shared.get(lot, _Shared())
        bears = floor(each * quantity)
        now = _Shared(
            before.amount + bears, before.quantity + quantity, (*before.by, (act, bears, quantity))
        )
        self.shared[lot] = now
        if len(now.by) == self.makers[lot]:
            self.costs.each[lot] = floor(now.amount // now.quantity)

    def settle(self) -> None:
        """Acts that shared a lot put in another worth than they got; the difference stays there."""
        for lot, shared in self.shared.items():
            for act, bears, quantity in shared.by:
                less = self.costs.worth(lot, quantity)
                self.costs.in_work[act] = self.costs.in_work.get(act, 0) + bears - less
