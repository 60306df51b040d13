"""What a week may draw on: lots that are free, what arrives in time, and which is organic."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction

from workshop.kettle.weighing.lot_selection import cover_of
from workshop.ledger.models import Lot
from workshop.planning.orders.open_orders import OnOrder, purchase_lines
from workshop.planning.stock.stock_left import stock_left
from workshop.planning.week.jobs import DAYS, BatchJob, Frame
from workshop.planning.week.makings import Making
from workshop.rules.planning.week.tasks import NEVER, Stock

# What arrives on a day is looked at and released by the next.
RELEASED_AFTER = 1


@dataclass(frozen=True)
class Offer:
    """Lots and arrivals. A lot that no organic batch may take stands under minus its item."""

    stock: list[Stock]
    lots: Mapping[int, Lot]
    names: Mapping[int, str]
    owed: Mapping[int, Decimal] = field(default_factory=dict)
    on_order: Sequence[OnOrder] = field(default_factory=list)

    def by_item(self) -> dict[int, Decimal]:
        """How much there is of each item within the week, organic or not."""
        return self._summed(one for one in self.stock if one.from_day < DAYS)

    def _summed(self, rows: Iterable[Stock]) -> dict[int, Decimal]:
        found: dict[int, Decimal] = defaultdict(Decimal)
        for one in rows:
            found[abs(one.item)] += one.amount
        return found

    def only_plain(self) -> dict[int, Decimal]:
        """How much there is that no organic batch may take."""
        found: dict[int, Decimal] = defaultdict(Decimal)
        for one in self.stock:
            if one.item < 0:
                found[-one.item] += one.amount
        return found

    def needs_of(self, job: BatchJob) -> dict[int, Decimal]:
        """What a batch takes; one that is not organic takes what no other may, if it suffices."""
        if job.making.family.is_organic:
            return job.needs
        plain = self.only_plain()
        return {
            -item if plain.get(item, Decimal(0)) >= amount else item: amount
            for item, amount in job.needs.items()
        }

    def position(self) -> dict[int, Fraction]:
        """How much of each item there is, on racks and in quarantine as well, less what is owed."""
        found = {item: Fraction(amount) for item, amount in self._summed(self.stock).items()}
        for item, amount in self.owed.items():
            found[item] = found.get(item, Fraction()) - Fraction(amount)
        return found


def offer_of(frame: Frame, makings: Mapping[int, Making]) -> Offer:
    """All that the week may draw on; the number of queries does not depend on how much it is."""
    there = stock_left(on=frame.today)
    free = there.free
    lots = {one.lot.pk: one.lot for one in free}
    is_covered = cover_of([one.lot for one in free]) if _any_organic(makings) else None
    stock = [
        Stock(
            one.lot.pk,
            one.lot.item_id
            if is_covered is None or is_covered(one.lot.item, one.lot)
            else -one.lot.item_id,
            one.amount,
            max(_index(frame, one.from_day), 0),
            _index(frame, one.lot.best_before) if one.lot.best_before else NEVER,
        )
        for one in free
    ]
    on_order = [line for line in purchase_lines() if line.open_quantity > 0]
    stock += [
        Stock(
            -one.line.pk,
            one.line.item_id,
            one.open_quantity,
            _index(frame, one.line.order.expected_on) + RELEASED_AFTER,
        )
        for one in on_order
        if one.line.order.expected_on >= frame.today
    ]
    names = {lot.item_id: str(lot.item) for lot in lots.values()}
    for making in makings.values():
        names[making.bulk_id] = str(making.version.formula.item)
        names |= {line.item_id: str(line.item) for line in making.lines}
    return Offer(stock, lots, names, there.owed, on_order)


def _any_organic(makings: Mapping[int, Making]) -> bool:
    return any(making.family.is_organic for making in makings.values())


def _index(frame: Frame, day: date) -> int:
    return (day - frame.monday).days
