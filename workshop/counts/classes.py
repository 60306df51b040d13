"""Which class each item is of, and the use of a year that says so."""

from collections import defaultdict
from datetime import datetime, timedelta
from fractions import Fraction

from django.db.models import Q

from workshop.costs.values.lot_values import moved
from workshop.costs.values.whole_book import whole_book
from workshop.counts.models import AbcClass, Classing, ItemClass
from workshop.ledger.models import TRANSFORMING, Item, Lot, OperationKind, Side
from workshop.rules.money.book_costs import PARTS_OF_UNIT, told
from workshop.rules.stock.abc_classes import YEAR_DAYS

# What takes a lot because somebody wants it: made into something, or sent out.
USE = (*TRANSFORMING, OperationKind.DISPATCH)


def classes_now() -> dict[int, str]:
    """The class of every item by the latest working-out; what is not in it is of class C."""
    latest = Classing.objects.last()
    if latest is None:
        return {}
    return dict(latest.items.order_by().values_list("item", "abc_class"))


def class_of(item: Item) -> str:
    row = ItemClass.objects.filter(item=item, classing=Classing.objects.last()).first()
    return row.abc_class if row else AbcClass.C


def used_in_the_year_before(at: datetime) -> dict[int, Fraction]:
    """By item: what was made into something or sent out in the year before, at its cost.

    An item that was not used is in it with nothing; so is one whose lots have no price.
    """
    costs = whole_book().costs
    by_lot: dict[int, int] = defaultdict(int)
    within = Q(operation__kind__in=USE, side=Side.IN, at__gte=at - timedelta(days=YEAR_DAYS))
    for one in moved(within & Q(at__lte=at)):
        by_lot[one.lot] -= costs.worth(one.lot, one.quantity * PARTS_OF_UNIT)
    found: dict[int, int] = defaultdict(int)
    for lot, item in Lot.objects.order_by().values_list("pk", "item").iterator():
        found[item] += by_lot.get(lot, 0)
    return {item: told(worth) for item, worth in found.items()}
