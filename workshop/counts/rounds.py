"""How a round stands: lots with their counts, what is counted again, how right the book is."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from functools import cached_property

from workshop.core.models import User
from workshop.counts.models import Count, CountLine, CountRound, PostedCount
from workshop.ledger.models import LotCount
from workshop.ledger.stock_queries import books_at
from workshop.rules.stock.counting import Counted, Verdict, record_accuracy, verdict


@dataclass(frozen=True)
class Line:
    """One lot of a round with everything that was counted of it, first to last."""

    row: CountLine
    counts: Sequence[Count] = ()
    posted: PostedCount | None = None

    @cached_property
    def verdict(self) -> Verdict:
        pairs = [Counted(one.book, one.counted) for one in self.counts]
        return verdict(pairs, self.row.tolerance_percent)

    @property
    def last(self) -> Count | None:
        return self.counts[-1] if self.counts else None

    @property
    def difference(self) -> Decimal:
        """What there is more than the book said, as counted last."""
        return self.last.counted - self.last.book if self.last else Decimal(0)

    @property
    def percent(self) -> Fraction | None:
        """The difference in percent of the book; none of nothing."""
        if self.last is None or not self.last.book:
            return None
        return Fraction(self.difference) / Fraction(abs(self.last.book)) * 100

    @property
    def is_settled(self) -> bool:
        return self.verdict in (Verdict.RIGHT, Verdict.OFF)

    @property
    def is_open(self) -> bool:
        return not self.is_settled

    @property
    def differs(self) -> bool:
        """Settled, and otherwise than in the book."""
        return self.is_settled and self.difference != 0

    @property
    def by_one_person(self) -> bool:
        """Counted more than once, always by the same hands."""
        return len(self.counts) > 1 and len({one.by_id for one in self.counts}) == 1

    def counted_last_by(self, person: User) -> bool:
        return self.last is not None and self.last.by_id == person.pk


@dataclass(frozen=True)
class RoundState:
    """All lots of a round, in the order in which they are walked to."""

    round: CountRound
    lines: list[Line] = field(default_factory=list)

    @property
    def asked(self) -> int:
        return len(self.lines)

    @cached_property
    def tally(self) -> Counter[Verdict]:
        return Counter(line.verdict for line in self.lines)

    @property
    def counted(self) -> int:
        return self.asked - self.tally[Verdict.TO_COUNT]

    @property
    def settled(self) -> int:
        return self.tally[Verdict.RIGHT] + self.tally[Verdict.OFF]

    @property
    def open_lines(self) -> list[Line]:
        return [line for line in self.lines if line.is_open]

    @property
    def never_counted(self) -> list[Line]:
        return [line for line in self.lines if line.verdict is Verdict.TO_COUNT]

    @property
    def again(self) -> list[Line]:
        return [line for line in self.lines if line.verdict is Verdict.AGAIN]

    @property
    def differing(self) -> list[Line]:
        return [line for line in self.lines if line.differs]

    @property
    def right(self) -> int:
        return self.tally[Verdict.RIGHT]

    @property
    def accuracy(self) -> Fraction | None:
        return record_accuracy(line.verdict for line in self.lines)

    def accuracy_by_class(self) -> list[tuple[str, int, int, Fraction]]:
        """Of each class that was counted: how many records, how many were right, in percent."""
        groups: dict[str, list[Verdict]] = defaultdict(list)
        for line in self.lines:
            if line.verdict is not Verdict.TO_COUNT:
                groups[line.row.abc_class].append(line.verdict)
        found = []
        for name, verdicts in sorted(groups.items()):
            share = record_accuracy(verdicts)
            if share is not None:
                found.append((name, len(verdicts), verdicts.count(Verdict.RIGHT), share))
        return found

    def next_for(self, person: User, after: int = 0) -> Line | None:
        """The lot to go to next: on from the one counted last, then what is to be counted again.

        What this person counted last comes at the very end: somebody else had better look.
        """
        ahead = [line for line in self.lines if line.row.pk > after] + self.lines
        fresh = [line for line in ahead if line.verdict is Verdict.TO_COUNT]
        again = [line for line in ahead if line.verdict is Verdict.AGAIN]
        others = [line for line in again if not line.counted_last_by(person)]
        return next(iter([*fresh, *others, *again]), None)

    def shown_to(self, person: User) -> list[Line]:
        """What is left to count, what others had better count again first among the rest."""
        mine = [line for line in self.again if line.counted_last_by(person)]
        others = [line for line in self.again if not line.counted_last_by(person)]
        return [*others, *self.never_counted, *mine]


def state_of(found: CountRound) -> RoundState:
    """A round with its lots and counts; the number of queries does not depend on how many."""
    return states_of([found])[0]


def states_of(rounds: Iterable[CountRound]) -> list[RoundState]:
    rounds = list(rounds)
    rows = CountLine.objects.filter(round__in=rounds).select_related("lot__item", "place", "round")
    counts: dict[int, list[Count]] = defaultdict(list)
    for one in Count.objects.filter(line__round__in=rounds).select_related("by").order_by("pk"):
        counts[one.line_id].append(one)
    of_round = PostedCount.objects.filter(end__round__in=rounds).select_related(
        "operation", "count"
    )
    posted = {one.count.line_id: one for one in of_round}
    lines: dict[int, list[Line]] = defaultdict(list)
    for row in rows.order_by("pk"):
        lines[row.round_id].append(Line(row, counts[row.pk], posted.get(row.pk)))
    return [RoundState(one, lines[one.pk]) for one in rounds]


def stale(lines: Iterable[Line]) -> dict[int, str]:
    """Which counts no longer tell what to set the book to, by line, each with the reason.

    Something that happened before the count was written only after it, or the lot was counted
    by itself since.
    """
    last = {line.row.lot_id: line.last for line in lines if line.last}
    books = books_at({lot: one.counted_at for lot, one in last.items()})
    alone = {
        row.lot_id: row
        for row in LotCount.objects.filter(lot__in=last).select_related("operation").order_by("pk")
    }
    found = {}
    for lot, one in last.items():
        since = alone.get(lot)
        if since and since.counted_at >= one.counted_at:
            found[one.line_id] = f"It was counted by itself since, {since.operation}."
        elif books[lot] != one.book:
            found[one.line_id] = (
                "Something that happened before this count was entered only after it."
            )
    return found
