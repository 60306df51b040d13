"""Which lots to take for so many units, and how many units the stock would give."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import ceil

from django.db.models import Q

from workshop.ledger.models import Item, ItemKind, Lot, Posting, Side, Status
from workshop.ledger.stock_queries import with_place
from workshop.packing.models import Product
from workshop.rules.quantities.first_expired import LotOnOffer, draw_lots

# Empty lots of an item that are still offered when none has anything on the book.
LAST_LOTS = 3
MOST_OTHERS = 40


@dataclass(frozen=True)
class LotOffer:
    """A lot that may be taken, and how much of it is proposed."""

    lot: Lot
    proposed: Decimal

    @property
    def item(self) -> Item:
        return self.lot.item


@dataclass(frozen=True)
class LotPicks:
    """Which lots to take for so many units, first expired first, and what is short."""

    bulk: list[LotOffer]
    containers: list[LotOffer]
    bulk_short_g: Decimal
    containers_short: Decimal
    others: list[LotOffer]


def propose(
    product: Product, units: int, *, on: date, also: Collection[int] = (), spoiled: int = 0
) -> LotPicks:
    """Propose lots for `units`; `also` are lots to show although they are no longer offered."""
    bulk, bulk_short = _offers(
        product.bulk, units * product.fill_g, on=on, also=also, least=product.fill_g
    )
    containers, others, short = propose_packaging(product, units, on=on, also=also, spoiled=spoiled)
    return LotPicks(bulk, containers, bulk_short, short, others)


def propose_packaging(
    product: Product, units: int, *, on: date, also: Collection[int] = (), spoiled: int = 0
) -> tuple[list[LotOffer], list[LotOffer], Decimal]:
    """Of that, what is not bulk: containers, other packaging, and how many containers are short."""
    pieces = Decimal(units + spoiled)
    containers, short = _offers(product.container, pieces, on=on, also=also)
    return containers, _other_packaging(product, Decimal(units), on=on), short


def _other_packaging(product: Product, units: Decimal, *, on: date) -> list[LotOffer]:
    """Labels, seals and cartons: of each, in proportion, what the last run of it used."""
    containers = Product.objects.values("container")
    stock = Lot.objects.filter(item__kind=ItemKind.PACKAGING).exclude(item__in=containers)
    usual = _used_each(product)
    offers = []
    for lot in with_place(stock.available(on=on).select_related("item"))[:MOST_OTHERS]:
        need = ceil(usual.pop(lot.item_id, Fraction(0)) * Fraction(units))
        offers.append(LotOffer(lot, min(Decimal(need), lot.on_hand)))
    return sorted(offers, key=lambda offer: not offer.proposed)


def _used_each(product: Product) -> dict[int, Fraction]:
    """How much of each other packaging the last run of a product used for one unit."""
    out = Posting.objects.effective().filter(operation__packing_run__product=product, side=Side.OUT)
    last = out.order_by("-pk").first()
    if last is None:
        return {}
    taken = Posting.objects.effective().filter(operation=last.operation_id, side=Side.IN)
    others = taken.filter(lot__item__kind=ItemKind.PACKAGING).exclude(
        lot__item=product.container_id
    )
    used: dict[int, Fraction] = {}
    for item, change in others.values_list("lot__item", "quantity"):
        used[item] = used.get(item, Fraction(0)) - Fraction(change) / Fraction(last.moved)
    return used


def _offers(
    item: Item, need: Decimal, *, on: date, also: Collection[int], least: Decimal = Decimal(0)
) -> tuple[list[LotOffer], Decimal]:
    """Every lot that may be taken; proposed are only those that hold `least`, shown first."""
    lots = _offered(item, on=on, also=also)
    usable = [lot for lot in lots if lot.status == Status.RELEASED and lot.on_hand >= least]
    on_offer = [LotOnOffer(lot.pk, lot.on_hand, lot.best_before) for lot in usable]
    drawn, short = draw_lots(need, on_offer)
    proposed = dict(drawn)
    lots.sort(key=lambda lot: lot.on_hand < least)
    return [LotOffer(lot, proposed.get(lot.pk, Decimal(0))) for lot in lots], short


def _offered(item: Item, *, on: date, also: Collection[int]) -> list[Lot]:
    """Lots with something on hand; if the book knows of none, the last ones that may be used."""
    lots = Lot.objects.filter(item=item).with_on_hand().select_related("item")
    found = list(with_place(lots.available(on=on)))
    if not found:
        last = lots.released().not_past(on).order_by("-pk")
        found = list(with_place(last)[:LAST_LOTS])
    have = {lot.pk for lot in found}
    return found + list(with_place(lots.filter(pk__in=set(also) - have)))


@dataclass(frozen=True)
class Stock:
    """How many units the released lots of bulk and of containers would give."""

    bulk_units: int
    containers: int

    @property
    def units(self) -> int:
        return max(0, min(self.bulk_units, self.containers))


def stock_for(product: Product, *, on: date) -> Stock:
    """Leftovers too small for one unit do not count, as they are not proposed either."""
    bulk = product.bulk.lots.available(on=on).filter(Q(on_hand__gte=product.fill_g))
    grams = sum((lot.on_hand for lot in bulk), Decimal(0))
    pieces = sum((lot.on_hand for lot in product.container.lots.available(on=on)), Decimal(0))
    return Stock(int(grams / product.fill_g), int(pieces))
