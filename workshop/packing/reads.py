"""What the packing pages look at."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from itertools import groupby
from math import ceil

from django.db.models import Count, F, OuterRef, Prefetch, Q, QuerySet, Subquery

from workshop.core.shown import day
from workshop.formulas.models import Version
from workshop.ledger.models import Act, Item, Kind, Lot, Operation, Posting, Side, Status
from workshop.packing.account import Account
from workshop.packing.models import FillSample, Loss, LossKind, PackingRun, Product
from workshop.packing.retaining import retained_of
from workshop.rules.dates import add_months
from workshop.rules.scaling import LotOnOffer, draw_lots

# Empty lots of an item that are still offered when none has anything on the book.
LAST_LOTS = 3
MOST_OTHERS = 40


@dataclass(frozen=True)
class Offer:
    """A lot that may be taken, and how much of it is proposed."""

    lot: Lot
    proposed: Decimal

    @property
    def item(self) -> Item:
        return self.lot.item


@dataclass(frozen=True)
class Proposal:
    """Which lots to take for so many units, first expired first, and what is short."""

    bulk: list[Offer]
    containers: list[Offer]
    bulk_short_g: Decimal
    containers_short: Decimal
    others: list[Offer]


def propose(
    product: Product, units: int, *, on: date, also: Collection[int] = (), spoiled: int = 0
) -> Proposal:
    """Propose lots for `units`; `also` are lots to show although they are no longer offered."""
    bulk, bulk_short = _offers(
        product.bulk, units * product.fill_g, on=on, also=also, least=product.fill_g
    )
    pieces = Decimal(units + spoiled)
    containers, containers_short = _offers(product.container, pieces, on=on, also=also)
    others = _other_packaging(product, Decimal(units), on=on)
    return Proposal(bulk, containers, bulk_short, containers_short, others)


def _other_packaging(product: Product, units: Decimal, *, on: date) -> list[Offer]:
    """Labels, seals and cartons: of each, in proportion, what the last run of it used."""
    containers = Product.objects.values("container")
    stock = Lot.objects.filter(item__kind=Kind.PACKAGING).exclude(item__in=containers)
    usual = _used_each(product)
    offers = []
    for lot in stock.available(on=on).select_related("item")[:MOST_OTHERS]:
        need = ceil(usual.pop(lot.item_id, Fraction(0)) * Fraction(units))
        offers.append(Offer(lot, min(Decimal(need), lot.on_hand)))
    return sorted(offers, key=lambda offer: not offer.proposed)


def _used_each(product: Product) -> dict[int, Fraction]:
    """How much of each other packaging the last run of a product used for one unit."""
    out = Posting.objects.standing().filter(operation__packing_run__product=product, side=Side.OUT)
    last = out.order_by("-pk").first()
    if last is None:
        return {}
    taken = Posting.objects.standing().filter(operation=last.operation_id, side=Side.IN)
    others = taken.filter(lot__item__kind=Kind.PACKAGING).exclude(lot__item=product.container_id)
    used: dict[int, Fraction] = {}
    for item, change in others.values_list("lot__item", "quantity"):
        used[item] = used.get(item, Fraction(0)) - Fraction(change) / Fraction(last.moved)
    return used


def _offers(
    item: Item, need: Decimal, *, on: date, also: Collection[int], least: Decimal = Decimal(0)
) -> tuple[list[Offer], Decimal]:
    """Every lot that may be taken; proposed are only those that hold `least`, shown first."""
    lots = _offered(item, on=on, also=also)
    usable = [lot for lot in lots if lot.status == Status.RELEASED and lot.on_hand >= least]
    on_offer = [LotOnOffer(lot.pk, lot.on_hand, lot.best_before) for lot in usable]
    drawn, short = draw_lots(need, on_offer)
    proposed = dict(drawn)
    lots.sort(key=lambda lot: lot.on_hand < least)
    return [Offer(lot, proposed.get(lot.pk, Decimal(0))) for lot in lots], short


def _offered(item: Item, *, on: date, also: Collection[int]) -> list[Lot]:
    """Lots with something on hand; if the book knows of none, the last ones that may be used."""
    lots = Lot.objects.filter(item=item).with_on_hand().select_related("item")
    found = list(lots.available(on=on))
    if not found:
        found = list(lots.released().not_past(on).order_by("-pk")[:LAST_LOTS])
    have = {lot.pk for lot in found}
    return found + list(lots.filter(pk__in=set(also) - have))


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
    """Bulk lots that no longer fill one unit of anything: to remelt, or to throw away."""
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


def weighed(run: PackingRun) -> list[FillSample]:
    """Every weight of a run, in pouring order, with what was corrected."""
    rows = run.samples.select_related("scale", "by", "correction", "corrects")
    return list(rows.order_by("place", "pk"))


def next_runs(account: Account) -> list[tuple[Lot, list[Filling]]]:
    """What is left of a run's bulk, and what else could be packed from it."""
    active = Product.objects.filter(item__is_active=True, bulk=account.product.bulk)
    products = list(active.select_related("item"))
    return [(lot, fillings(lot, products)) for lot in account.leftovers]


def under_way() -> QuerySet[PackingRun]:
    """Runs begun and not finished, with how many weights were taken."""
    rows: QuerySet[PackingRun] = PackingRun.objects.under_way()
    return rows.select_related("product__item", "operation__opened_by").annotate(
        weighed=Count("samples", filter=Q(samples__corrects=None))
    )


def awaiting() -> QuerySet[Lot]:
    """Finished lots that nobody has released or rejected yet."""
    lots = Lot.objects.filter(
        item__kind=Kind.PRODUCT,
        origin__kind=Act.PACKING,
        status__in=[Status.QUARANTINE, Status.ON_HOLD],
    )
    return lots.with_on_hand().select_related("item", "origin")


def runs() -> QuerySet[PackingRun]:
    """Packing runs, the last first, with the lot and the number of units of each."""
    out = Posting.objects.standing().filter(side=Side.OUT).select_related("lot")
    return PackingRun.objects.select_related(
        "product__item", "operation__opened_by"
    ).prefetch_related(Prefetch("operation__postings", queryset=out, to_attr="packed"))


def products(asked: str = "") -> QuerySet[Product]:
    found = Product.objects.select_related("item", "bulk", "container").order_by(
        "-item__is_active", "item__name"
    )
    if asked:
        found = found.filter(Q(item__name__icontains=asked) | Q(item__code__icontains=asked))
    return found


def inputs_of(operation: Operation) -> list[Posting]:
    """What a run took, each with its lot and item."""
    taken = operation.postings.standing().filter(side=Side.IN)
    return list(taken.select_related("lot__item").order_by("pk"))


def shelf_life_months(product: Product, used: Collection[Lot]) -> int | None:
    """The product's own, or else the shortest that the formulas behind these lots give."""
    if product.shelf_life_months:
        return product.shelf_life_months
    versions = Version.objects.filter(batches__operation__lots__in=used)
    return min(versions.values_list("shelf_life_months", flat=True), default=None)


def account(run: PackingRun) -> Account:
    """Add up one run; each lot it took comes with what is left of it now."""
    postings = list(run.operation.postings.standing().order_by("pk"))
    lots = Lot.objects.with_on_hand().select_related("item")
    by_pk = lots.in_bulk([posting.lot_id for posting in postings])
    for posting in postings:
        posting.lot = by_pk[posting.lot_id]
    taken = [posting for posting in postings if posting.side == Side.IN]
    packed = next((posting for posting in postings if posting.side == Side.OUT), None)
    product = run.product
    return Account(
        product=product,
        bulk=[one for one in taken if one.lot.item_id == product.bulk_id],
        containers=[one for one in taken if one.lot.item_id == product.container_id],
        others=[
            one for one in taken if one.lot.item_id not in (product.bulk_id, product.container_id)
        ],
        packed=packed,
        losses={
            loss.posting_id: LossKind(loss.kind)
            for loss in Loss.objects.filter(posting__operation=run.operation_id)
        },
        retained=retained_of(packed.lot) if packed else Decimal(0),
    )


@dataclass(frozen=True)
class DateReason:
    """One thing that limits how long a finished lot keeps; the earliest is the limit."""

    text: str
    day: date
    lot: Lot | None = None


def date_reasons(lot: Lot, product: Product) -> list[DateReason]:
    """Why a finished lot has its date, the earliest first."""
    used = list({posting.lot: None for posting in inputs_of(lot.origin)})
    reasons = [
        DateReason(f"lot {source} of {source.item}", source.best_before, source)
        for source in used
        if source.best_before
    ]
    months = shelf_life_months(product, used)
    if months:
        text = f"packed on {day(lot.made_on)}, keeps {months} months"
        reasons.append(DateReason(text, add_months(lot.made_on, months)))
    return sorted(reasons, key=lambda reason: reason.day)
