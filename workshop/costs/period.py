"""A period in money: what there was, what came, what became of it, what there is.

As it is written down, every figure is rounded once, to whole cents. What rounding leaves over
stands on a line of its own, so that the closing value is that of the stock and opens the next
period.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from django.db.models import BigIntegerField, Case, Min, Q, Sum, Value, When
from django.db.models.expressions import Combinable
from django.db.models.functions import Cast, Coalesce
from django.utils import timezone

from workshop.core.database.bare_rows import bare_rows
from workshop.costs.figures import exact_amount
from workshop.costs.values.lot_values import MOST_NAMED
from workshop.costs.values.whole_book import Book, whole_book
from workshop.ledger.models import (
    TRANSFORMING,
    ItemKind,
    Lot,
    Operation,
    OperationKind,
    Posting,
    Side,
)
from workshop.ledger.stock_queries import whole_ledger
from workshop.rules.money.book_costs import PARTS_OF_UNIT, told

IN_WORK = "in work"
CLASSES = [*ItemKind.values, IN_WORK]
HEADS = {
    ItemKind.MATERIAL: "Materials",
    ItemKind.PACKAGING: "Packaging",
    ItemKind.BULK: "Bulk",
    ItemKind.PRODUCT: "Finished goods",
    IN_WORK: "In work",
}
# In the order of the sum on paper.
MOVES = {
    "bought": "bought",
    "added": "work and overhead",
    "made": "made",
    "used": "used",
    "sent": "sent out",
    "returned": "came back",
    "discarded": "written off",
    "shed": "sampled or lost in store",
    "lost": "spilled, or in a stopped batch",
    "counted": "more or less by count",
    "other": "otherwise",
}
WORDS = {
    (OperationKind.RECEIPT, Side.OUT): "bought",
    (OperationKind.DISPATCH, Side.IN): "sent",
    (OperationKind.RETURN, Side.OUT): "returned",
    (OperationKind.DISCARD, Side.IN): "discarded",
    (OperationKind.SHED, Side.IN): "shed",
    (OperationKind.COUNT, Side.IN): "counted",
    (OperationKind.COUNT, Side.OUT): "counted",
}


@dataclass(frozen=True)
class Period:
    """From the morning of one day to the end of another, in the workshop's time zone."""

    first: date
    last: date

    @property
    def days(self) -> int:
        return (self.last - self.first).days + 1

    @property
    def begins(self) -> datetime:
        return timezone.make_aware(datetime.combine(self.first, time()))

    @property
    def ends(self) -> datetime:
        return timezone.make_aware(datetime.combine(self.last + timedelta(days=1), time()))


@dataclass(frozen=True)
class Account:
    """By class of stock: its opening value, its movements by name, its closing value."""

    opening: Mapping[str, Fraction]
    moves: Mapping[str, Mapping[str, Fraction]]
    # Lots with a price missing that had a part in it; the figures are "at least".
    without_price: frozenset[int]

    @property
    def closing(self) -> dict[str, Fraction]:
        return {
            one: self.opening[one] + sum((row[one] for row in self.moves.values()), Fraction())
            for one in CLASSES
        }

    @property
    def is_whole(self) -> bool:
        return not self.without_price


def account_of(period: Period) -> Account:
    """The account of a period as the book knows it today; as many queries for any book.

    What a batch took stands under "in work" until it is poured; so every column adds up. What
    there was before is what there is now less what moved since: only that is read by its day.
    """
    book = whole_book()
    since = _since(book, period)
    held = _held_before(book, since)
    classes, worth = _classes(), book.costs.worth
    opening: dict[str, int] = defaultdict(int)
    moves: dict[str, dict[str, int]] = {name: defaultdict(int) for name in MOVES}
    for lot, thousandths in held.items():
        opening[classes[lot]] += worth(lot, thousandths)
    opening[IN_WORK] += sum(book.costs.in_work.values())
    for one in since:
        row, within = moves[_word(one)], worth(one.lot, one.within)
        row[classes[one.lot]] += within
        if one.kind in TRANSFORMING:
            opening[IN_WORK] += worth(one.lot, one.all)
            row[IN_WORK] -= within
    for key, when in _later(book, period).items():
        added, lost = book.added.get(key, 0), book.costs.lost.get(key, 0)
        opening[IN_WORK] -= added - lost
        if when == WITHIN:
            moves["added"][IN_WORK] += added
            moves["lost"][IN_WORK] -= lost
    return Account(
        {one: told(opening[one]) for one in CLASSES},
        {name: {one: told(row[one]) for one in CLASSES} for name, row in moves.items()},
        _without_price(book, held, period),
    )


class Since(NamedTuple):
    """What moved of a lot from the first day on, in thousandths: within the period, and in all."""

    lot: int
    kind: str
    side: str
    within: int | Fraction
    all: int | Fraction


def _since(book: Book, period: Period) -> list[Since]:
    rows = Posting.objects.filter(at__gte=period.begins).order_by()
    sums = rows.values_list("lot", "operation__kind", "side").annotate(
        within=_summed(Q(at__lt=period.ends)), all=_summed()
    )
    found = [Since(*row) for row in bare_rows(sums)]
    for at, one in book.dried:
        if at >= period.begins:
            more = one.quantity * PARTS_OF_UNIT
            within = more if at < period.ends else 0
            found.append(Since(one.lot, one.kind, one.side, within, more))
    return found


def _summed(only: Q | None = None) -> Combinable:
    """The bare number: PostgreSQL would answer with a decimal."""
    return Cast(Sum("quantity", default=0, filter=only), BigIntegerField())


def _held_before(book: Book, since: Iterable[Since]) -> dict[int, int | Fraction]:
    """By lot that ever moved: what there was of it as the period began."""
    held: dict[int, int | Fraction] = dict(whole_ledger())
    for _, more in book.dried:
        held[more.lot] += more.quantity * PARTS_OF_UNIT
    for one in since:
        held[one.lot] -= one.all
    return held


def _word(one: Since) -> str:
    if one.kind in TRANSFORMING:
        return "used" if one.side == Side.IN else "made"
    return WORDS.get((OperationKind(one.kind), Side(one.side)), "other")


def _classes() -> dict[int, str]:
    return dict(bare_rows(Lot.objects.order_by().values_list("pk", "item__kind")))


BEFORE, WITHIN, AFTER = 0, 1, 2


def _later(book: Book, period: Period) -> dict[int, int]:
    """The acts whose work, and what no lot bears of them, count from the first day on or never yet.

    They fall on the day of the first pour or the end of the run. Where nothing was poured, they
    fall on the day that it ended.
    """

    def when(column: str) -> Case:
        return Case(
            When(Q((f"{column}__lt", period.begins)), then=Value(BEFORE)),
            When(Q((f"{column}__lt", period.ends)), then=Value(WITHIN)),
            default=Value(AFTER),
        )

    made = Posting.objects.filter(operation__kind__in=TRANSFORMING, side=Side.OUT).order_by()
    firsts = made.values("operation").annotate(first=Min("at")).filter(first__gte=period.begins)
    found = dict(bare_rows(firsts.values_list("operation", when("first"))))
    unmade = {*book.added, *book.costs.lost, *book.costs.in_work} - book.made.keys()
    # Few are named; of many, all are read.
    named = Q(pk__in=unmade) if len(unmade) <= MOST_NAMED else Q(kind__in=TRANSFORMING)
    poured = Min("postings__at", filter=Q(postings__side=Side.OUT))
    ended = Operation.objects.filter(named).order_by().annotate(day=Coalesce(poured, "closed_at"))
    rows = bare_rows(ended.values_list("pk", when("day")))
    return found | {key: place for key, place in rows if key in unmade and place != BEFORE}


def _without_price(book: Book, held: Iterable[int], period: Period) -> frozenset[int]:
    """The lots that came in without a price, of those that moved before the period was over."""
    costs = book.costs
    lacking = {lot for lot in held if lot in costs.lacking or lot not in costs.each}
    lacking -= book.makers.keys()
    named = (
        Q(lot__in=lacking) if len(lacking) <= MOST_NAMED else ~Q(lot__origin__kind__in=TRANSFORMING)
    )
    rows = Posting.objects.filter(named, at__lt=period.ends).order_by()
    sums = rows.values("operation", "lot", "side").annotate(all=_summed()).exclude(all=0)
    return frozenset(lacking.intersection(lot for (lot,) in bare_rows(sums.values_list("lot"))))


# ---- Written down --------------------------------------------------------------------------------

OPENING, ROUNDING, CLOSING = "opening", "rounding", "closing"
# What one class gives another gets: their sum is nothing.
INSIDE = ("made", "used")


@dataclass(frozen=True)
class Line:
    """One line of the sum, by class of stock."""

    key: str
    word: str
    cells: Mapping[str, Decimal]

    @property
    def total(self) -> Decimal:
        return sum(self.cells.values(), Decimal(0))


def statement_of(account: Account, currency: str) -> list[Line]:
    """Opening, movements, what rounding left, and the closing value as the sum of them all.

    Movements that are nothing everywhere are left out.
    """

    def cents(values: Mapping[str, Fraction]) -> dict[str, Decimal]:
        return {one: exact_amount(values[one], currency) for one in CLASSES}

    opening, closing = cents(account.opening), cents(account.closing)
    lines = [Line(OPENING, "Opening stock", opening)]
    for name, word in MOVES.items():
        cells = cents(account.moves[name])
        if name in INSIDE:
            cells[IN_WORK] -= sum(cells.values(), Decimal(0))
        lines.append(Line(name, word, cells))
    written = {one: sum((line.cells[one] for line in lines), Decimal(0)) for one in CLASSES}
    left = {one: closing[one] - written[one] for one in CLASSES}
    lines.append(Line(ROUNDING, "rounding", left))
    said = [line for line in lines if line.key == OPENING or any(line.cells.values())]
    return [*said, Line(CLOSING, "Closing stock", closing)]
