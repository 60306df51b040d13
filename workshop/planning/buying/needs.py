"""What to order and by when: products exploded to materials and packaging, week by week."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from django.db.models import Sum

from workshop.ledger.models import Item, ItemKind, OperationKind, Posting, Side
from workshop.planning.buying.order_lots import Lots, lots_of
from workshop.planning.current_terms import hours_now, terms_by_item
from workshop.planning.models import Hours, Terms
from workshop.planning.orders.open_orders import OnOrder, purchase_lines
from workshop.planning.stock.outlooks import Looked, outlooks
from workshop.planning.stock.stock_left import stock_left
from workshop.planning.week.jobs import Frame
from workshop.planning.week.makings import makings
from workshop.planning.week.standing import expected_bulk, standing_batches
from workshop.rules.planning.gross_to_net import Plan, Supply, explode
from workshop.rules.planning.replenishment import order_up_to, reorder_point
from workshop.rules.quantities.variance_and_limits import mean_and_variance

WEEKS = 26
USE_WEEKS = 26
UNKNOWN_LEAD = 7  # days, where nobody has said how long an item takes


@dataclass(frozen=True)
class Need:
    """One bought item: what is wanted of it by week, and what to order of it by which day."""

    item: Item
    terms: Terms | None
    on_hand: Fraction
    plan: Plan | None
    lots: Sequence[Lots]
    coming: Sequence[OnOrder] = field(default_factory=list)
    point: Fraction | None = None  # of what is not planned: at which stock it is ordered again
    monday: date = date.min
    today: date = date.min

    @property
    def lead_days(self) -> int:
        lead = self.terms.lead_days if self.terms else None
        return UNKNOWN_LEAD if lead is None else lead

    @property
    def on_hand_shown(self) -> Decimal:
        return Decimal(int(self.on_hand))

    @property
    def point_shown(self) -> Decimal:
        return Decimal(-int(-(self.point or 0) // 1))

    @property
    def next_lot(self) -> Lots | None:
        return self.lots[0] if self.lots else None

    @property
    def order_by(self) -> date | None:
        """The last day to order it, so that it is there when it is wanted."""
        return self.next_lot.needed_on - timedelta(days=self.lead_days) if self.next_lot else None

    @property
    def amount(self) -> Decimal:
        if not self.next_lot:
            return Decimal(0)
        return _whole(self.next_lot.amount, self.item)

    @property
    def days_late(self) -> int:
        """By how many days the order is past due; 0 where it is in time."""
        return max((self.today - self.order_by).days, 0) if self.order_by else 0

    @property
    def is_due(self) -> bool:
        """Whether it must be ordered within the week to come."""
        return self.order_by is not None and self.order_by < self.today + timedelta(days=7)

    def arriving(self, week: int) -> Fraction:
        """What is expected in a week from today; what is overdue by now is expected in none."""
        return sum(
            (
                Fraction(one.open_quantity)
                for one in self.coming
                if (one.line.order.expected_on - self.today).days // 7 == week
            ),
            Fraction(),
        )

    @property
    def too_late(self) -> date | None:
        """From when on it is lacking although enough is on order: it comes after it is wanted."""
        stock = self.on_hand
        for number, week in enumerate(self.plan.weeks if self.plan and self.coming else ()):
            first = self.today + timedelta(weeks=number)
            if self.next_lot and self.next_lot.needed_on <= first:
                return None
            stock += self.arriving(number) - week.gross
            if stock < 0:
                return first
        return None


def _whole(amount: Fraction, item: Item) -> Decimal:
    """Pieces are whole; grams are rounded up to a gram."""
    return Decimal(-(-amount // 1))


def needs(*, today: date) -> list[Need]:
    """Every bought item that is used or kept in stock; those to order first come first."""
    return _Buying(today).needs()


class _Buying:
    """The explosion as things stand on a day."""

    def __init__(self, today: date) -> None:
        self.today = today
        self.monday = today - timedelta(days=today.weekday())
        self.hours: Hours = hours_now()
        self.makings = makings(self.hours)
        self.looked = outlooks(on=today)
        self.items = {
            item.pk: item
            for item in Item.objects.active()
            .of_kind(ItemKind.MATERIAL, ItemKind.PACKAGING)
            .select_related("profile")
        }
        self.terms = terms_by_item()
        self.free: dict[int, Fraction] = defaultdict(Fraction)
        there = stock_left(on=today)
        for one in there.free:
            self.free[one.lot.item_id] += Fraction(one.amount)
        for item, amount in there.owed.items():
            self.free[item] -= Fraction(amount)
        self.coming: dict[int, list[OnOrder]] = defaultdict(list)
        for line in purchase_lines():
            if line.open_quantity > 0:
                self.coming[line.line.item_id].append(line)

    def needs(self) -> list[Need]:
        plans = self.plans()
        used = self._used()
        found = []
        for key, item in self.items.items():
            plan = plans.get(key)
            if plan is not None and any(week.gross for week in plan.weeks):
                found.append(self._planned(item, plan))
            elif used.get(key) or self._minimum(key):
                found.append(self._unplanned(item, used.get(key, [])))
        far = date.max
        return sorted(found, key=lambda need: (need.order_by or far, need.item.name, need.item.pk))

    def plans(self) -> dict[int, Plan]:
        """Gross to net of everything, from the products down; what is bought without its lead."""
        parts: dict[int, dict[int, Fraction]] = {
            bulk: making.shares for bulk, making in self.makings.items()
        }
        supplies: dict[int, Supply] = {}
        wanted: dict[int, list[Fraction]] = {}
        for one in self.looked:
            product = one.product
            parts[product.item_id] = {
                product.bulk_id: Fraction(product.fill_g),
                product.container_id: Fraction(1),
            }
            wanted[product.item_id] = self._weekly(one)
            supplies[product.item_id] = Supply(
                one.outlook.stock, least_stock=one.outlook.least, size=_whole_units
            )
        made = expected_bulk(standing_batches(Frame(self.monday, self.today, 1)))
        for bulk, making in self.makings.items():
            supplies[bulk] = Supply(
                self.free.get(bulk, Fraction()) + made.get(bulk, Fraction()),
                lead_weeks=-(-making.cure_days // 7),
            )
        for key in self.items:
            supplies[key] = Supply(
                # What is on order counts as there: ordering it again would not bring it sooner.
                self.free.get(key, Fraction()) + self._on_order(key),
                least_stock=self._minimum(key),
            )
        return explode(wanted, parts, supplies, WEEKS)

    def _weekly(self, one: Looked) -> list[Fraction]:
        ends = [one.outlook.wanted_by(7 * number + 6) for number in range(WEEKS)]
        return [now - before for now, before in zip(ends, [Fraction(), *ends], strict=False)]

    def _on_order(self, key: int) -> Fraction:
        lines = self.coming.get(key, [])
        return sum((Fraction(one.open_quantity) for one in lines), Fraction())

    def _minimum(self, key: int) -> Fraction:
        terms = self.terms.get(key)
        return Fraction(terms.minimum_stock) if terms else Fraction()

    def _planned(self, item: Item, plan: Plan) -> Need:
        terms = self.terms.get(item.pk)
        lots = lots_of(plan, item, terms, self.hours, self.today)
        return self._need(item, plan, lots)

    def _need(
        self, item: Item, plan: Plan | None, lots: Sequence[Lots], point: Fraction | None = None
    ) -> Need:
        return Need(
            item,
            self.terms.get(item.pk),
            self.free.get(item.pk, Fraction()),
            plan,
            lots,
            self.coming.get(item.pk, []),
            point,
            self.monday,
            self.today,
        )

    def _unplanned(self, item: Item, weeks: Sequence[Fraction]) -> Need:
        """What no formula and no product names: by its reorder point, filled up for some weeks."""
        terms = self.terms.get(item.pk)
        days = terms.lead_days if terms and terms.lead_days is not None else UNKNOWN_LEAD
        lead = Fraction(days, 7)
        mean, variance = mean_and_variance(weeks) if len(weeks) > 1 else (Fraction(), Fraction())
        point = max(reorder_point(mean, variance, lead), self._minimum(item.pk))
        position = self.free.get(item.pk, Fraction()) + self._on_order(item.pk)
        if position > point:
            return self._need(item, None, [], point)
        target = order_up_to(mean, variance, lead, self.hours.weeks_ahead)
        short = max(target, self._minimum(item.pk)) - position
        need = Lots.sized(short, terms, self.today + timedelta(days=days))
        return self._need(item, None, [need] if need else [], point)

    def _used(self) -> dict[int, list[Fraction]]:
        """What batches and packing runs took of each item in each of the last weeks; one query."""
        first = self.today - timedelta(weeks=USE_WEEKS)
        rows = (
            Posting.objects.filter(
                side=Side.IN,
                operation__kind__in=(OperationKind.BATCH, OperationKind.PACKING),
                operation__opened_at__date__gte=first,
                operation__opened_at__date__lt=self.today,
                lot__item__in=list(self.items),
            )
            .order_by()
            .values_list("lot__item", "operation__opened_at__date")
            .annotate(change=Sum("quantity"))
        )
        found: dict[int, list[Fraction]] = {}
        for item, on, change in rows:
            weeks = found.setdefault(item, [Fraction()] * USE_WEEKS)
            weeks[(on - first).days // 7] -= Fraction(change)
        return found


def _whole_units(need: Fraction) -> Fraction:
    return Fraction(-(-need // 1))
