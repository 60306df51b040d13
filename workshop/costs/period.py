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

from django.db.models import Min, Q
from django.utils import timezone

from workshop.costs.figures import exact_amount
from workshop.costs.lot_values import Moved, Values, moved, values_of
from workshop.ledger.models import (
    TRANSFORMING,
    ItemKind,
    Lot,
    Operation,
    OperationKind,
    Posting,
    Side,
)

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

    What a batch took stands under "in work" until it is poured; so every column adds up.
    """
    values = values_of()
    before = list(moved(Q(at__lt=period.begins)))
    within = list(moved(Q(at__gte=period.begins, at__lt=period.ends)))
    classes = _classes()
    opening: dict[str, Fraction] = defaultdict(Fraction)
    moves: dict[str, dict[str, Fraction]] = {name: defaultdict(Fraction) for name in MOVES}
    for one in before:
        worth = one.quantity * values.of(one.lot).amount
        opening[classes[one.lot]] += worth
        if one.kind in TRANSFORMING:
            opening[IN_WORK] -= worth
    for one in within:
        worth = one.quantity * values.of(one.lot).amount
        row = moves[_word(one)]
        row[classes[one.lot]] += worth
        if one.kind in TRANSFORMING:
            row[IN_WORK] -= worth
    _work(values, period, opening, moves)
    return Account(opening, moves, _without_price(values, [*before, *within]))


def _word(one: Moved) -> str:
    if one.kind in TRANSFORMING:
        return "used" if one.side == Side.IN else "made"
    return WORDS.get((OperationKind(one.kind), Side(one.side)), "other")


def _classes() -> dict[int, str]:
    return dict(Lot.objects.order_by().values_list("pk", "item__kind"))


def _work(
    values: Values,
    period: Period,
    opening: dict[str, Fraction],
    moves: Mapping[str, dict[str, Fraction]],
) -> None:
    """Labour, and what no lot bears, fall on the day of the first pour or the end of the run."""
    for key, at in _when_made().items():
        making = values.makings.get(key)
        if making is None or at >= period.ends:
            continue
        loss = making.loss(values.costs)
        if at < period.begins:
            opening[IN_WORK] += making.added - loss
        else:
            moves["added"][IN_WORK] += making.added
            moves["lost"][IN_WORK] -= loss


def _when_made() -> dict[int, datetime]:
    """By operation: when the first of it was poured or packed; where nothing was, when it ended."""
    ended = Operation.objects.filter(kind__in=TRANSFORMING, closed_at__isnull=False).order_by()
    made = Posting.objects.filter(operation__kind__in=TRANSFORMING, side=Side.OUT).order_by()
    return {
        **{key: at for key, at in ended.values_list("pk", "closed_at") if at is not None},
        **dict(made.values_list("operation").annotate(first=Min("at"))),
    }


def _without_price(values: Values, rows: Iterable[Moved]) -> frozenset[int]:
    """The lots that came in without a price, of those that moved."""
    made = {lot for making in values.makings.values() for lot in making.made}
    seen = {one.lot for one in rows if one.quantity}
    return frozenset(lot for lot in seen if lot not in made and not values.of(lot).is_whole)


# ---- Written down --------------------------------------------------------------------------------

OPENING, ROUNDING, CLOSING = "opening", "rounding", "closing"
# What one class gives another gets: their sum is nothing.
WITHIN = ("made", "used")


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
    lines = [Line(OPENING, "There was", opening)]
    for name, word in MOVES.items():
        cells = cents(account.moves[name])
        if name in WITHIN:
            cells[IN_WORK] -= sum(cells.values(), Decimal(0))
        lines.append(Line(name, word, cells))
    written = {one: sum((line.cells[one] for line in lines), Decimal(0)) for one in CLASSES}
    left = {one: closing[one] - written[one] for one in CLASSES}
    lines.append(Line(ROUNDING, "rounding", left))
    said = [line for line in lines if line.key == OPENING or any(line.cells.values())]
    return [*said, Line(CLOSING, "There is", closing)]
