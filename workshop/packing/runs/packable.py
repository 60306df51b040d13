"""Bulk that can be packed now, what it would fill, and what is too little for one unit."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import groupby

from django.db.models import F, OuterRef, Prefetch, Q, QuerySet, Subquery

from workshop.ledger.models import Item, Lot
from workshop.packing.models import Product
from workshop.packing.runs.mass_account import Account


def ready_bulk(*, on: date) -> QuerySet[Lot]:
    """Bulk lots that some product is packed from, first expired first, with those products.

    Annotated with the `least_fill` of those products.
    """
    products = Product.objects.filter(item__is_active=True).select_related("item")
    lots = Lot.objects.filter(
        item__in=Product.objects.filter(item__is_active=True).values("bulk")
    ).available(on=on)
    fills = products.filter(bulk=OuterRef("item")).order_by("fill_g").values("fill_g")
    return (
        lots.annotate(least_fill=Subquery(fills[:1]))
        .select_related("item")
        .prefetch_related(Prefetch("item__packed_as", queryset=products, to_attr="products"))
    )


def to_pack(*, on: date) -> QuerySet[Lot]:
    """Bulk lots that fill at least one unit of something."""
    return ready_bulk(on=on).filter(Q(on_hand__gte=F("least_fill")))


def too_little(*, on: date) -> QuerySet[Lot]:
    """Bulk lots that no longer fill one unit of anything: to remelt, or to write off."""
    return ready_bulk(on=on).filter(Q(on_hand__lt=F("least_fill"))).order_by("item__name", "pk")


@dataclass(frozen=True)
class Filling:
    """How many units of a product one bulk lot fills."""

    product: Product
    units: int


def fillings(lot: Lot, products: Iterable[Product]) -> list[Filling]:
    """What can be packed from this lot, most units first."""
    counted = [Filling(one, int(lot.on_hand / one.fill_g)) for one in products]
    return sorted((one for one in counted if one.units), key=lambda one: -one.units)


def products_of(lot: Lot) -> list[Product]:
    """What a lot read by `ready_bulk` is packed as."""
    found: list[Product] = lot.item.products  # type: ignore[attr-defined]  # prefetched
    return found


@dataclass(frozen=True)
class Leftovers:
    """Lots of one bulk, each too little for a unit, and what they add up to."""

    item: Item
    lots: list[Lot]

    @property
    def grams(self) -> Decimal:
        return sum((lot.on_hand for lot in self.lots), Decimal(0))


def by_item(lots: Iterable[Lot]) -> list[Leftovers]:
    """Lots ordered by item, gathered."""
    return [Leftovers(item, list(rows)) for item, rows in groupby(lots, lambda lot: lot.item)]


def next_runs(account: Account) -> list[tuple[Lot, list[Filling]]]:
    """What is left of a run's bulk, and what else could be packed from it."""
    active = Product.objects.filter(item__is_active=True, bulk=account.product.bulk)
    products = list(active.select_related("item"))
    return [(lot, fillings(lot, products)) for lot in account.leftovers]
