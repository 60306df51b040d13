"""The costs of the whole book at once, from as few and as bare rows as they can be had from.

`lot_values` is for the lots that a page shows; this is for sums over all of them. Quantities are
the whole thousandths that the database holds.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time
from fractions import Fraction
from itertools import groupby
from operator import itemgetter
from typing import Any

from django.db.models import Case, IntegerField, Q, Value, When
from django.utils import timezone

from workshop.core.database.bare_rows import bare_rows
from workshop.costs.models import Rates, WorkTime
from workshop.costs.values.lot_values import Moved, cost_of_minute, dried, rates_known, spilled
from workshop.costs.values.paid import bought
from workshop.ledger.models import TRANSFORMING, Operation, Posting, Side
from workshop.rules.money.book_costs import (
    PARTS_OF_UNIT,
    Act,
    BookCosts,
    book_costs,
    fine,
    fine_each,
)


@dataclass(frozen=True)
class Book:
    """What every lot cost, what each act put out, and its work and overhead in fine parts.

    `dried` is what must be added to the postings of lots that dried, as `lot_values.dried` has it.
    """

    costs: BookCosts
    made: Mapping[int, Mapping[int, int | Fraction]]
    added: Mapping[int, int]
    dried: Sequence[tuple[datetime, Moved]]

    @property
    def makers(self) -> Counter[int]:
        return Counter(lot for lots in self.made.values() for lot in lots)


def whole_book() -> Book:
    """As many queries for any book. The acts are reckoned as they are read, and none is kept."""
    rates, more = rates_known(), dried(Q())
    book = Book(BookCosts(), _made(more), _work(rates), more)
    acts = _acts(book, is_work_known=not rates)
    return replace(book, costs=book_costs(_paid_for(), book.makers, acts))


def _paid_for() -> dict[int, int | None]:
    return {lot: None if paid is None else fine_each(*paid) for lot, paid in bought(None).items()}


def _acts(book: Book, *, is_work_known: bool) -> Iterator[Act]:
    """All that made something, or took something to, from the first."""
    spills, unfinished, more = spilled(Q()), _unfinished(), _more_taken(book)
    nothing: Mapping[int, int] = {}
    made, added = book.made, book.added

    def act(key: int, lots: Sequence[int], taken: Sequence[int | Fraction]) -> Act:
        return Act(
            key,
            lots,
            taken,
            made.get(key, nothing),
            added.get(key, 0),
            is_work_known or key in added,
            int(spills[key] * PARTS_OF_UNIT) if key in spills else 0,
            key not in unfinished,
        )

    without = set(made)
    for key, rows in groupby(_rows(Side.IN), itemgetter(0)):
        without.discard(key)
        _, lots, quantities = zip(*rows, strict=True)
        more_lots, more_quantities = more.get(key, ((), ()))
        yield act(key, lots + more_lots, quantities + more_quantities)
    for key in sorted(without):
        yield act(key, (), ())


def _more_taken(book: Book) -> dict[int, tuple[tuple[int, ...], tuple[Fraction, ...]]]:
    """For how much more than its grams stands what acts took of lots that dried."""
    found: dict[int, tuple[tuple[int, ...], tuple[Fraction, ...]]] = {}
    for _, one in book.dried:
        if one.side == Side.IN:
            lots, quantities = found.get(one.operation, ((), ()))
            thousandths = one.quantity * PARTS_OF_UNIT
            found[one.operation] = ((*lots, one.lot), (*quantities, thousandths))
    return found


def _made(more: Sequence[tuple[datetime, Moved]]) -> dict[int, dict[int, int | Fraction]]:
    """By act: how many thousandths it put out of each lot, once what was taken back is off."""
    found: dict[int, dict[int, int | Fraction]] = {}
    for key, lot, quantity in _rows(Side.OUT):
        lots = found.setdefault(key, {})
        lots[lot] = lots.get(lot, 0) + quantity
    for _, one in more:
        if one.side == Side.OUT and one.kind in TRANSFORMING:
            found[one.operation][one.lot] += one.quantity * PARTS_OF_UNIT
    return {
        key: {lot: quantity for lot, quantity in lots.items() if quantity > 0}
        for key, lots in found.items()
    }


def _rows(side: Side) -> Iterator[tuple[Any, ...]]:
    """Operation, lot and thousandths of each posting, operation after operation."""
    rows = Posting.objects.filter(operation__kind__in=TRANSFORMING, side=side)
    return bare_rows(rows.order_by("operation").values_list("operation", "lot", "quantity"))


def _unfinished() -> set[int]:
    begun = Operation.objects.filter(kind__in=TRANSFORMING, closed_at=None).order_by()
    return set(begun.values_list("pk", flat=True))


def _work(rates: Sequence[Rates]) -> dict[int, int]:
    """Labour and the overhead that goes with it, by operation, at the rates of its day."""
    if not rates:
        return {}
    minute = [fine(cost_of_minute(rate)) for rate in rates]
    # The row entered last counts: it comes last, which is read sooner than it is looked up.
    times = WorkTime.objects.order_by("pk")
    rows = times.values_list("operation", "minutes", _rate_of_the_day(rates))
    return {key: minutes * minute[place] for key, minutes, place in bare_rows(rows)}


def _rate_of_the_day(rates: Sequence[Rates]) -> Case:
    """The place of the rate that held when an operation began; before the first, that one."""
    held = [
        When(operation__opened_at__gte=_morning(rate), then=Value(place))
        for place, rate in enumerate(rates)
    ]
    return Case(*held[::-1], default=Value(0), output_field=IntegerField())


def _morning(rate: Rates) -> datetime:
    return timezone.make_aware(datetime.combine(rate.from_on, time()))
