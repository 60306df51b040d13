"""How much of one lot is in another: exact shares along the links of the family tree.

What was weighed into a lot is taken as evenly mixed, so a part taken out of it carries each
source in the proportion in which it went in. What was strained out again keeps its link and
carries nothing along it. Nothing is rounded before it is shown.
"""

from collections import defaultdict
from collections.abc import Collection, Container, Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from graphlib import CycleError, TopologicalSorter

from workshop.ledger.lot_tree import Link
from workshop.ledger.models import Unit

MILLIGRAM = Decimal("0.001")


@dataclass(frozen=True)
class Totals:
    """What each operation moved in all, lots outside the trace included."""

    weighed_in_g: Mapping[int, Fraction]
    put_out: Mapping[tuple[int, str], Fraction]


@dataclass
class Flow:
    """Amounts in the unit of the lot asked about: `of[lot]`, and along each link."""

    of: dict[int, Fraction] = field(default_factory=lambda: defaultdict(Fraction))
    along: dict[tuple[int, int], Fraction] = field(default_factory=lambda: defaultdict(Fraction))

    def is_strained_out(self, lot: int) -> bool:
        """Whether a lot is linked, and nothing of the one is in the other."""
        return lot in self.of and not self.of[lot]


class Family:
    """The links of a trace, with what one unit of each lot holds."""

    def __init__(
        self,
        links: Iterable[Link],
        totals: Totals,
        unit_of: Mapping[int, str],
        lots: Iterable[int],
        strained: Container[tuple[int, int]] = (),
    ) -> None:
        """`strained` names, by operation and lot, what was strained out again."""
        self.inputs: dict[int, dict[int, Link]] = defaultdict(dict)
        self._made: dict[int, dict[int, Link]] = defaultdict(dict)
        for link in links:
            # A link is a pair of postings, so each of the two comes once for every other one.
            self.inputs[link.product_id][link.taken_posting_id] = link
            self._made[link.product_id][link.made_posting_id] = link
        self._unit_of, self._totals, self._strained = unit_of, totals, strained
        self.order = list(_sources_first(self.inputs, lots))
        self.content: dict[int, Fraction] = {}
        for lot in self.order:
            if lot in self.inputs:
                self.content[lot] = self._content(lot)

    def made(self, lot: int) -> Fraction:
        """What its own operation put out of a lot."""
        return sum((Fraction(link.made) for link in self._made[lot].values()), Fraction())

    def part_of_run(self, lot: int) -> Fraction:
        """Its part of all that its operation put out in the same unit.

        Were there lots in grams and in pieces, each would count as holding all of it: a trace
        may say too much, and must not say too little.
        """
        operation = next(iter(self._made[lot].values())).operation_id
        return self.made(lot) / self._totals.put_out[operation, self._unit_of[lot]]

    def _content(self, lot: int) -> Fraction:
        """Grams weighed into a lot, with those inside any pieces that went in."""
        links = self.inputs[lot].values()
        operation = next(iter(links)).operation_id
        in_pieces = (self._stayed(link) * self.grams_a_piece(link.source_id) for link in links)
        weighed = self._totals.weighed_in_g.get(operation, Fraction())
        return self.part_of_run(lot) * (weighed + sum(in_pieces, Fraction()))

    def _stayed(self, link: Link) -> Fraction:
        """What of a lot that went in is in what came out."""
        is_out = (link.operation_id, link.source_id) in self._strained
        return Fraction() if is_out else Fraction(link.taken)

    def grams_a_piece(self, lot: int) -> Fraction:
        if self._unit_of[lot] == Unit.GRAM or lot not in self.content:
            return Fraction()
        return self.content[lot] / self.made(lot)

    def whole(self, lot: int) -> Fraction:
        """Of what a part is taken: the grams in a weighed lot, the pieces of a counted one."""
        return self.content[lot] if self._unit_of[lot] == Unit.GRAM else self.made(lot)

    def forward(self, start: int) -> Flow:
        """How much of `start` is in every lot made from it; none where it was strained out."""
        flow = Flow()
        for lot in self.order:
            for link in self.inputs[lot].values() if lot in self.inputs else ():
                source = link.source_id
                if source != start and source not in flow.of:
                    continue
                rate = Fraction(1) if source == start else self._rate(flow.of, source)
                amount = self._stayed(link) * rate * self.part_of_run(lot)
                flow.of[lot] += amount
                flow.along[source, lot] += amount
        return flow

    def back(self, target: int) -> Flow:
        """How much of every lot behind `target` is in it, each in its own unit."""
        flow = Flow()
        for lot in reversed(self.order):
            is_behind = lot == target or lot in flow.of
            rate = Fraction(1) if lot == target else self._rate(flow.of, lot)
            for link in self.inputs[lot].values() if lot in self.inputs and is_behind else ():
                amount = self._stayed(link) * rate * self.part_of_run(lot)
                flow.of[link.source_id] += amount
                flow.along[link.source_id, lot] += amount
        return flow

    def _rate(self, amounts: Mapping[int, Fraction], lot: int) -> Fraction:
        if lot not in amounts or lot not in self.content:
            return Fraction()
        whole = self.whole(lot)
        return amounts[lot] / whole if whole else Fraction()


def _sources_first(inputs: Mapping[int, Mapping[int, Link]], lots: Iterable[int]) -> Iterator[int]:
    """Every lot after all that went into it. Lots of a loop, which entry refuses, are left out."""
    sorter = TopologicalSorter(
        {
            lot: {link.source_id for link in inputs[lot].values()} if lot in inputs else set()
            for lot in lots
        }
    )
    with suppress(CycleError):
        sorter.prepare()
    while ready := sorter.get_ready():
        yield from ready
        sorter.done(*ready)


def depths(links: Collection[Link], start: int, *, forward: bool) -> dict[int, int]:
    """How many operations lie at most between `start` and each lot; 0 for itself."""
    nexts: dict[int, set[int]] = defaultdict(set)
    for link in links:
        ends = (link.source_id, link.product_id)
        nexts[ends[not forward]].add(ends[forward])
    before: dict[int, set[int]] = defaultdict(set)
    for lot, others in nexts.items():
        for other in others:
            before[other].add(lot)
    sorter = TopologicalSorter(before)
    with suppress(CycleError):
        sorter.prepare()
    depth = {start: 0}
    while ready := sorter.get_ready():
        for lot in ready:
            known = [depth[other] for other in before[lot] if other in depth]
            if known:
                depth[lot] = max(known) + 1
        sorter.done(*ready)
    return depth


def shown(amount: Fraction) -> Decimal:
    """To the milligram, or the thousandth of a piece."""
    return (Decimal(amount.numerator) / Decimal(amount.denominator)).quantize(MILLIGRAM)
