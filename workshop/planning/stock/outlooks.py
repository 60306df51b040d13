"""Products as they stand: stock, open orders, what is likely to be wanted, for how many weeks."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from django.db.models import F, Sum

from workshop.ledger.models import ItemKind, Lot, OperationKind, Posting, Status
from workshop.packing.models import Product
from workshop.packing.stock.retained import for_sale
from workshop.planning.current_terms import terms_by_item
from workshop.planning.models import Terms
from workshop.planning.orders.open_orders import OpenLine, customer_lines, open_by_item
from workshop.rules.planning.demand import Demand, expected, weeks_of_cover
from workshop.rules.planning.shortage import Outlook
from workshop.rules.quantities.units import round_to

HISTORY_WEEKS = 105  # two years and the week before: last year's season with its trend
WEEKS = 26
WAYS = {
    "none": "nothing went out",
    "typed": "as entered",
    "season": "last year's season and trend",
    "now and then": "goes now and then",
    "level": "as of late",
}


@dataclass(frozen=True)
class Looked:
    """One product with all that is known of its near future."""

    product: Product
    terms: Terms | None
    demand: Demand
    for_sale: Decimal
    in_quarantine: Decimal
    orders: list[OpenLine]
    outlook: Outlook

    @property
    def minimum(self) -> Decimal:
        return self.terms.minimum_stock if self.terms else Decimal(0)

    @property
    def a_week(self) -> Decimal:
        """Units that an average week to come is likely to want."""
        return round_to(self.demand.mean, Decimal("0.1"))

    @property
    def way_in_words(self) -> str:
        return WAYS[self.demand.way]

    @property
    def ordered(self) -> Decimal:
        return sum((line.open_units for line in self.orders), Decimal(0))

    @property
    def cover(self) -> Fraction | None:
        """For how many weeks the stock lasts; None where it outlasts all that is looked at."""
        weeks = [self.outlook.wanted_by(7 * n + 6) for n in range(WEEKS)]
        each = [now - before for now, before in zip(weeks, [Fraction(), *weeks], strict=False)]
        return weeks_of_cover(self.outlook.stock, each)


def outlooks(*, on: date) -> list[Looked]:
    """Every product in use, by name; the number of queries does not depend on how many."""
    products = list(
        Product.objects.filter(item__is_active=True).select_related("item", "bulk", "container")
    )
    terms = terms_by_item([product.item_id for product in products])
    history = weekly_dispatches(on)
    orders = open_by_item(customer_lines())
    sale = _summed(for_sale(on=on).values_list("item", F("sellable")))
    waiting = Lot.objects.filter(item__kind=ItemKind.PRODUCT, status=Status.QUARANTINE)
    quarantine = _summed(waiting.not_past(on).with_on_hand().values_list("item", F("on_hand")))
    found = []
    for product in products:
        key = product.item_id
        own = terms.get(key)
        demand = expected(
            history.get(key, []), WEEKS, typed_per_week=own.wanted_per_week if own else None
        )
        ready, later = sale.get(key, Decimal(0)), quarantine.get(key, Decimal(0))
        outlook = Outlook(
            Fraction(ready + later),
            Fraction(own.minimum_stock if own else 0),
            [((line.due_on - on).days, Fraction(line.open_units)) for line in orders.get(key, [])],
            demand.weeks,
        )
        found.append(Looked(product, own, demand, ready, later, orders.get(key, []), outlook))
    return found


def _summed(rows: Iterable[tuple[int, Decimal]]) -> dict[int, Decimal]:
    found: dict[int, Decimal] = defaultdict(Decimal)
    for item, amount in rows:
        found[item] += amount
    return dict(found)


def weekly_dispatches(on: date) -> dict[int, list[int]]:
    """Units of each product sent in each of the last two years' weeks, the oldest first.

    A week ends the day before `on`, so that the last one is whole. What came back was wanted all
    the same.
    """
    first = on - timedelta(weeks=HISTORY_WEEKS)
    rows = (
        Posting.objects.filter(
            operation__kind=OperationKind.DISPATCH,
            operation__dispatch__taken_back=None,
            operation__dispatch__sent_on__gte=first,
            operation__dispatch__sent_on__lt=on,
        )
        .order_by()
        .values_list("lot__item", "operation__dispatch__sent_on")
        .annotate(change=Sum("quantity"))
    )
    found: dict[int, list[int]] = {}
    for item, sent_on, change in rows:
        weeks = found.setdefault(item, [0] * HISTORY_WEEKS)
        weeks[(sent_on - first).days // 7] += max(int(-change), 0)
    return found
