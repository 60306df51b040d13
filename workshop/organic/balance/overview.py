"""The balance of many items at once, and what was sold as organic beside what was bought."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from workshop.core.errors import ActionRefused
from workshop.goods_in.lot_composition import compositions_or_why
from workshop.ledger.models import Item, ItemKind, Lot, Unit
from workshop.materials.models import LABEL_SCHEME
from workshop.organic.balance.query import FIGURES, Period, sums
from workshop.organic.balance.statement import percent, tolerance_of_scheme, units
from workshop.packing.models import Product
from workshop.rules.organic.mass_balance import Claimed, MassBalance, Verdict, claim_holds, verdict


@dataclass(frozen=True)
class Row:
    """One item in the overview, in its own unit or in grams."""

    item: Item
    balance: MassBalance
    verdict: Verdict
    unit: str

    def __getattr__(self, name: str) -> Decimal:
        """A figure of the balance, in whole units."""
        return units(getattr(self.balance, name))

    @property
    def came(self) -> Decimal:
        """What was received, or there before the book."""
        return units(self.balance.received + self.balance.taken_over)

    @property
    def gone(self) -> Decimal:
        """What was written off or lost."""
        return units(self.balance.written_off + self.balance.shed)

    @property
    def unexplained_percent(self) -> Decimal | None:
        return percent(self.balance.unexplained_share)


GROUPS = {
    "organic": "all that is bought as organic",
    "materials": "all materials",
    "bulks": "all bulks",
    "products": "all products",
    "packaging": "all packaging",
}


def items_of(group: str) -> list[Item]:
    """The items of a group by name."""
    kinds = {
        "bulks": ItemKind.BULK, "products": ItemKind.PRODUCT, "packaging": ItemKind.PACKAGING,
    }  # fmt: skip
    rows = Item.objects.of_kind(kinds.get(group, ItemKind.MATERIAL)).order_by("name")
    if group == "organic":
        rows = (rows.filter(profile__is_organic=True) | rows.filter(
            profile__parts__is_organic=True
        )).distinct()  # fmt: skip
    return list(rows)


def overview(period: Period, group: str, *, as_known_today: bool = True) -> list[Row]:
    """The balance of each item of a group: one grouped pass over the postings.

    Of what is bought as organic only the organic lots count.
    """
    items = {item.pk: item for item in items_of(group)}
    is_organic = True if group == "organic" else None
    found = sums(
        period, ["lot__item"], items=items, is_organic=is_organic, as_known_today=as_known_today
    ).balances()
    tolerance = Fraction(tolerance_of_scheme())
    rows = ((item, found.get((pk,), MassBalance())) for pk, item in items.items())
    return [
        Row(item, one, verdict(one, tolerance), item.unit)
        for item, one in rows
        if one != MassBalance()
    ]


def in_grams(rows: Iterable[Row]) -> list[Row]:
    """The same products in grams, at the net weight of their labels."""
    fills: dict[int, Decimal] = {one.item_id: one.fill_g for one in Product.objects.all()}
    return [
        replace(row, balance=row.balance.times(fills[row.item.pk]), unit=Unit.GRAM)
        for row in rows
        if row.item.pk in fills
    ]


@dataclass(frozen=True)
class Chain:
    """Organic ingredients in milligrams, from what was there and bought to what was sold.

    `unknown` names lots whose composition cannot be determined: nothing of them is counted.
    """

    there: int
    received: int
    products_there: int
    made: int
    sold: int
    left: int
    unknown: tuple[str, ...]

    @property
    def claimed(self) -> Claimed:
        return Claimed(
            bought=self.there + self.received + self.products_there,
            made=self.products_there + self.made,
            sold=self.sold,
        )

    @property
    def holds(self) -> bool:
        return claim_holds(self.claimed)

    @property
    def steps(self) -> list[tuple[str, Decimal]]:
        """What the page says, in grams."""
        return [
            ("In materials and bulks at the beginning", units(self.there)),
            ("+ received as organic", units(self.received)),
            ("+ in organic products at the beginning", units(self.products_there)),
            ("= bought as organic, at most to be sold", units(self.claimed.bought)),
            ("Made as organic, with the products there", units(self.claimed.made)),
            ("Sold as organic, less returned", units(self.sold)),
            ("Left at the end, in materials, bulks and products", units(self.left)),
        ]


def chain(period: Period, *, scheme: str = LABEL_SCHEME) -> Chain:
    """Add up the organic part, under a scheme, of all that came in, was made and was sold so."""
    moved = sums(period, ["lot"]).moved
    lots = _lots({key[0] for key in moved})
    parts, unknown = _organic_part(lots, scheme)
    products = {product.item_id: product for product in Product.objects.all()}
    amounts: dict[str, Fraction] = defaultdict(Fraction)
    for (pk, kind, side), amount in moved.items():
        lot = lots.get(pk)
        part = parts.get(pk)
        if lot is None or not part:
            continue
        is_product = lot.item.kind == ItemKind.PRODUCT
        grams = products[lot.item_id].fill_g if is_product else Decimal(1)
        if is_product and not products[lot.item_id].claims_organic:
            continue
        name, sign = FIGURES[kind, side]
        factor = part * Fraction(grams)
        amounts["products_there" if is_product else "there"] += amount.before * factor
        amounts["left"] += (amount.before + amount.within) * factor
        name = "received" if name == "taken_over" else name
        amounts[f"{name} {is_product}"] += sign * amount.within * factor
    return Chain(
        there=int(amounts["there"]),
        received=int(amounts["received False"]),
        products_there=int(amounts["products_there"]),
        # Units that were unpacked are units no more; packed again, they are made anew.
        made=int(amounts["made True"] - amounts["used True"]),
        sold=int(amounts["sent True"] - amounts["returned True"]),
        left=int(amounts["left"]),
        unknown=unknown,
    )


def _lots(keys: Iterable[int]) -> dict[int, Lot]:
    rows = Lot.objects.select_related("item").exclude(item__kind=ItemKind.PACKAGING)
    return {lot.pk: lot for lot in rows.order_by().filter(pk__in=list(keys))}


def _organic_part(
    lots: Mapping[int, Lot], scheme: str
) -> tuple[dict[int, Fraction], tuple[str, ...]]:
    """The organic part of each lot by weight, water and all."""
    weighed = [lot for lot in lots.values() if lot.item.unit in (Unit.GRAM, Unit.EACH)]
    parts: dict[int, Fraction] = {}
    unknown = []
    for pk, shares in compositions_or_why(weighed, scheme=scheme).items():
        if isinstance(shares, ActionRefused):
            unknown.append(str(lots[pk]))
        else:
            organic = (share for part, share in shares.items() if part.is_organic)
            parts[pk] = sum(organic, Fraction())
    return parts, tuple(sorted(unknown))
