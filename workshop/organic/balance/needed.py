"""From the units sold as organic back to the organic ingredients that they needed.

By the formulas and the yields that the book has of the period: what was poured of what was weighed
in, what did not dry off, and what of the bulk is in units at the weight of their label.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from django.db.models import Exists, OuterRef, Q, Sum

from workshop.formulas.models import Line, Version, VersionStatus
from workshop.goods_in.models import ReceiptLine
from workshop.ledger.models import Item, ItemKind, Lot, OperationKind, Posting, Side, Unit
from workshop.materials.models import LABEL_SCHEME
from workshop.organic.balance.query import Moved, Period, Sums, sums
from workshop.packing.models import Product
from workshop.rules.organic.mass_balance import needed_g
from workshop.rules.quantities.units import floor_to, round_to

MILLIGRAM = Decimal("0.001")


@dataclass(frozen=True)
class SoldProduct:
    """Units of one product sold as organic, less those that came back."""

    product: Product
    units: int
    version: Version | None
    charge_share: Fraction | None

    @property
    def net_g(self) -> Decimal:
        grams: Decimal = self.units * self.product.fill_g
        return grams

    @property
    def yield_percent(self) -> Decimal | None:
        """Of what was weighed in, what is in units at the weight of their label."""
        if self.charge_share is None:
            return None
        return round_to(100 * self.charge_share, Decimal("0.01"))


@dataclass(frozen=True)
class Need:
    """An organic material: what sold units needed of it beside what there was of it."""

    item: Item
    needed: Fraction
    had: Decimal
    received: Decimal
    certificates: tuple[str, ...]

    @property
    def needed_g(self) -> Decimal:
        return floor_to(self.needed, MILLIGRAM)

    @property
    def holds(self) -> bool:
        return self.needed <= Fraction(self.had + self.received)


@dataclass
class Needed:
    """All of a period; `unknown` says of which product nothing could be reckoned, and why."""

    sold: list[SoldProduct] = field(default_factory=list)
    needs: list[Need] = field(default_factory=list)
    unknown: list[str] = field(default_factory=list)

    @property
    def holds(self) -> bool:
        return all(need.holds for need in self.needs)


def needed(period: Period, *, scheme: str = LABEL_SCHEME) -> Needed:
    """Reckon a period back; the number of queries does not depend on how much was sold."""
    moved = sums(period, ["lot__item"])
    formulas = _Formulas(moved, period)
    found, grams = Needed(), defaultdict[int, Fraction](Fraction)
    for product in Product.objects.filter(claims_organic=True).select_related("item", "bulk"):
        units = _units_sold(moved, product.item_id)
        if not units:
            continue
        share = formulas.yields(product.bulk_id, is_packed=True)
        version = formulas.of.get(product.bulk_id)
        found.sold.append(SoldProduct(product, units, version, share))
        if share is None or version is None:
            found.unknown.append(f"{product}: nothing of it was made and packed in the period.")
            continue
        per_bulk = needed_g(units, Fraction(product.fill_g), share, Fraction(1))
        found.unknown += [f"{product}: {why}" for why in formulas.add(version, per_bulk, grams)]
    found.needs = list(_needs(period, grams, scheme))
    found.sold.sort(key=lambda one: str(one.product))
    return found


def _units_sold(moved: Sums, item: int) -> int:
    sent = -_within(moved, item, OperationKind.DISPATCH, Side.IN)
    return (sent - _within(moved, item, OperationKind.RETURN, Side.OUT)) // 1000


def _within(moved: Sums, item: int, kind: str, side: str) -> int:
    return moved.moved.get((item, kind, side), Moved()).within


class _Formulas:
    """The formulas of all bulks, and how much of a charge became what the period made of it."""

    def __init__(self, moved: Sums, period: Period) -> None:
        self.moved = moved
        versions = Version.objects.filter(status=VersionStatus.APPROVED).in_full()
        newest = versions.order_by("approved_at")
        self.of: dict[int, Version] = {one.formula.item_id: one for one in newest}
        self.lines: dict[int, list[Line]] = {
            item: list(version.lines.all()) for item, version in self.of.items()
        }
        self.batches = _weighed_and_poured(period)
        self.packed_mg = _packed(moved)

    def yields(self, bulk: int, *, is_packed: bool = False) -> Fraction | None:
        """Of what is weighed in for a bulk, what is there to be used, or is in units."""
        weighed, poured = self.batches.get(bulk, (0, 0))
        if not weighed or not poured:
            return None
        dried = -_within(self.moved, bulk, OperationKind.SHED, Side.IN)
        share = Fraction(poured, weighed) * Fraction(max(poured - dried, 0), poured)
        if is_packed:
            # What was unpacked again is in no unit, and the bulk is there as it was.
            taken = -_within(self.moved, bulk, OperationKind.PACKING, Side.IN)
            taken -= _within(self.moved, bulk, OperationKind.UNPACKING, Side.OUT)
            if taken <= 0:
                return None
            share *= Fraction(self.packed_mg.get(bulk, 0), taken)
        return share or None

    def add(self, version: Version, charge_g: Fraction, grams: dict[int, Fraction]) -> list[str]:
        """Add what a charge needs of each material, through the bulks that go into it."""
        missing = []
        whole = [(version, charge_g)]
        while whole:
            one, charge = whole.pop()
            for line in self.lines[one.formula.item_id]:
                amount = needed_g(1, charge, Fraction(1), Fraction(line.share) / 100)
                if line.item.kind != ItemKind.BULK:
                    grams[line.item_id] += amount
                    continue
                inner, share = self.of.get(line.item_id), self.yields(line.item_id)
                if inner is None or share is None:
                    missing.append(f"{line.item} was not made in the period.")
                    continue
                whole.append((inner, amount / share))
        return missing


def _weighed_and_poured(period: Period) -> dict[int, tuple[int, int]]:
    """By bulk, in milligrams: what its batches of the period took, and what they poured.

    A batch that was stopped poured nothing, and nobody needed it for what was sold.
    """
    bulk = "operation__batch__version__formula__item"
    rows = (
        Posting.objects.filter(
            Exists(Lot.objects.filter(origin=OuterRef("operation"))),
            operation__kind=OperationKind.BATCH,
            operation__opened_at__gte=period.begins,
            operation__opened_at__lt=period.ends,
            lot__item__unit=Unit.GRAM,
        )
        .order_by()
        .values_list(bulk)
        .annotate(
            taken=Sum("quantity", filter=Q(side=Side.IN), default=Decimal(0)),
            poured=Sum("quantity", filter=Q(side=Side.OUT), default=Decimal(0)),
        )
    )
    return {
        item: (int(-taken.scaleb(3)), int(poured.scaleb(3))) for item, taken, poured in rows if item
    }


def _packed(moved: Sums) -> dict[int, int]:
    """By bulk, in milligrams: what the labels of all units say that were packed in the period, less
    those that were unpacked."""
    found: dict[int, int] = defaultdict(int)
    for product in Product.objects.all():
        units = _within(moved, product.item_id, OperationKind.PACKING, Side.OUT)
        units += _within(moved, product.item_id, OperationKind.UNPACKING, Side.IN)
        found[product.bulk_id] += int(units // 1000 * product.fill_g.scaleb(3))
    return found


def _needs(period: Period, grams: Mapping[int, Fraction], scheme: str) -> Iterable[Need]:
    items = Item.objects.select_related("profile").prefetch_related("profile__parts")
    bought = {item.pk: item for item in items.filter(pk__in=grams) if _is_bought_organic(item)}
    balances = sums(
        period, ["lot__item"], items=list(bought), is_organic=True, scheme=scheme
    ).balances()
    papers = _certificates(period, bought, scheme)
    for pk, item in sorted(bought.items(), key=lambda pair: pair[1].name):
        balance = balances.get((pk,))
        had = balance.opening + balance.taken_over if balance else 0
        received = balance.received if balance else 0
        yield Need(
            item, grams[pk], Decimal(had).scaleb(-3), Decimal(received).scaleb(-3),
            tuple(sorted(papers.get(pk, ()))),
        )  # fmt: skip


def _is_bought_organic(item: Item) -> bool:
    profile = getattr(item, "profile", None)
    if profile is None:
        return False
    return bool(profile.is_organic) or any(part.is_organic for part in profile.parts.all())


def _certificates(period: Period, items: Iterable[int], scheme: str) -> dict[int, set[str]]:
    """The certificates under which each item came in, with what they say they cover."""
    lines = ReceiptLine.objects.filter(
        receipt__received_on__range=(period.first, period.last),
        lot__item__in=list(items),
        is_organic=True,
        certificate__scheme=scheme,
        taken_back=None,
    ).select_related("certificate", "lot")
    found: dict[int, set[str]] = defaultdict(set)
    for line in lines:
        if line.certificate:
            found[line.lot.item_id].add(line.certificate.number)
    return found
