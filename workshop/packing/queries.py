"""What the packing pages look at."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Count, Prefetch, Q, QuerySet

from workshop.core.formatting import day
from workshop.formulas.models import Version
from workshop.ledger.models import (
    ItemKind,
    Lot,
    Operation,
    OperationKind,
    Posting,
    Shed,
    Side,
    Status,
)
from workshop.packing.models import FillSample, PackingRun, Product
from workshop.packing.runs.mass_account import Account
from workshop.packing.stock.retained import retained_in
from workshop.rules.dates.calendar_days import add_months


def weighed(run: PackingRun) -> list[FillSample]:
    """Every weight of a run, in pouring order, with what was corrected."""
    rows = run.samples.select_related("scale", "by", "correction", "corrects")
    return list(rows.order_by("place", "pk"))


def under_way() -> QuerySet[PackingRun]:
    """Runs begun and not finished, with how many weights were taken."""
    rows: QuerySet[PackingRun] = PackingRun.objects.under_way()
    return (
        rows.select_related("product__item", "operation__opened_by")
        .annotate(weighed=Count("samples", filter=Q(samples__corrects=None)))
        .order_by("-pk")
    )


def awaiting() -> QuerySet[Lot]:
    """Finished lots that nobody has released or rejected yet."""
    lots = Lot.objects.filter(
        item__kind=ItemKind.PRODUCT,
        origin__kind=OperationKind.PACKING,
        status__in=[Status.QUARANTINE, Status.ON_HOLD],
    )
    return lots.with_on_hand().select_related("item", "origin")


def runs() -> QuerySet[PackingRun]:
    """Packing runs, the last first, with the lot and the number of units of each."""
    out = Posting.objects.effective().filter(side=Side.OUT).select_related("lot")
    return PackingRun.objects.select_related(
        "product__item", "operation__opened_by"
    ).prefetch_related(Prefetch("operation__postings", queryset=out, to_attr="packed"))


def products() -> QuerySet[Product]:
    return Product.objects.select_related("item", "bulk", "container")


def inputs_of(operation: Operation) -> list[Posting]:
    """What a run took, each with its lot and item."""
    taken = operation.postings.effective().filter(side=Side.IN)
    return list(taken.select_related("lot__item").order_by("pk"))


def shelf_life_months(product: Product, used: Collection[Lot]) -> int | None:
    """The product's own, or else the shortest that the formulas behind these lots give."""
    if product.shelf_life_months:
        return product.shelf_life_months
    versions = Version.objects.filter(batches__operation__lots__in=used)
    return min(versions.values_list("shelf_life_months", flat=True), default=None)


def account(run: PackingRun) -> Account:
    """Add up one run; each lot it took comes with what is left of it now."""
    return accounts([run])[run.pk]


def accounts(runs: Collection[PackingRun]) -> dict[int, Account]:
    """The same of many runs, by their key; the number of queries stays the same."""
    operations = [run.operation_id for run in runs]
    postings = list(Posting.objects.effective().filter(operation__in=operations).order_by("pk"))
    lots = Lot.objects.with_on_hand().select_related("item")
    by_pk = lots.in_bulk([posting.lot_id for posting in postings])
    by_run: dict[int, list[Posting]] = {}
    for posting in postings:
        posting.lot = by_pk[posting.lot_id]
        by_run.setdefault(posting.operation_id, []).append(posting)
    sheds: dict[int, list[Shed]] = {}
    for shed in Shed.objects.effective().filter(operation__in=operations).order_by("pk"):
        sheds.setdefault(shed.operation_id, []).append(shed)
    packed = [posting.lot_id for posting in postings if posting.side == Side.OUT]
    retained = retained_in(packed)
    return {
        run.pk: _account(
            run.product,
            by_run.get(run.operation_id, []),
            sheds.get(run.operation_id, []),
            retained,
        )
        for run in runs
    }


def _account(
    product: Product,
    postings: Sequence[Posting],
    sheds: Sequence[Shed],
    retained: Mapping[int, Decimal],
) -> Account:
    taken = [posting for posting in postings if posting.side == Side.IN]
    packed = next((posting for posting in postings if posting.side == Side.OUT), None)
    return Account(
        product=product,
        bulk=[one for one in taken if one.lot.item_id == product.bulk_id],
        containers=[one for one in taken if one.lot.item_id == product.container_id],
        others=[
            one for one in taken if one.lot.item_id not in (product.bulk_id, product.container_id)
        ],
        packed=packed,
        sheds=sheds,
        retained=retained.get(packed.lot_id, Decimal(0)) if packed else Decimal(0),
    )


@dataclass(frozen=True)
class DateLimit:
    """One thing that limits how long a finished lot keeps; the earliest is the limit."""

    text: str
    day: date
    lot: Lot | None = None


def date_reasons(lot: Lot) -> list[DateLimit]:
    """Why a finished lot has its date, the earliest first."""
    used = list({posting.lot: None for posting in inputs_of(lot.origin)})
    reasons = [
        DateLimit(f"lot {source} of {source.item}", source.best_before, source)
        for source in used
        if source.best_before
    ]
    months = lot.origin.packing_run.shelf_life_months
    if months:
        text = f"packed on {day(lot.made_on)}, keeps {months} months"
        reasons.append(DateLimit(text, add_months(lot.made_on, months)))
    return sorted(reasons, key=lambda reason: reason.day)
