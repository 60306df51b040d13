"""Units retained as samples, and what of a finished lot is left for customers."""

from collections.abc import Collection
from datetime import date
from decimal import Decimal

from django.db.models import ExpressionWrapper, F, OuterRef, Prefetch, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from workshop.core.fields import QuantityField
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, Lot
from workshop.packing.models import Retained


def retained_of(lot: Lot) -> Decimal:
    """How many units of a lot are kept back now."""
    return retained_in([lot.pk]).get(lot.pk, Decimal(0))


def retained_in(lot_pks: Collection[int]) -> dict[int, Decimal]:
    """The same of many lots, by their key; those of which nothing is kept back are left out."""
    rows = Retained.objects.filter(lot__in=lot_pks).order_by().values("lot")
    return dict(rows.annotate(total=Sum("units")).values_list("lot", "total"))


def sellable(lot: Lot) -> Decimal:
    """How many units of a finished lot may go to customers: on hand, less those kept back."""
    return max(Decimal(0), ledger.on_hand(lot) - retained_of(lot))


def for_sale(*, on: date) -> QuerySet[Lot]:
    """Finished lots that may go to customers, first expired first, annotated with `sellable`."""
    kept = Retained.objects.filter(lot=OuterRef("pk")).order_by().values("lot")
    held_back = Coalesce(
        Subquery(kept.annotate(total=Sum("units")).values("total"), output_field=QuantityField()),
        Decimal(0),
        output_field=QuantityField(),
    )
    left = ExpressionWrapper(F("on_hand") - held_back, output_field=QuantityField())
    lots = Lot.objects.available(on=on).filter(item__kind=ItemKind.PRODUCT)
    return lots.annotate(sellable=left).filter(Q(sellable__gt=0))


def sellable_of(lots: QuerySet[Lot]) -> dict[int, Decimal]:
    """How much of each lot of `for_sale` may go, by the lot's key."""
    return dict(lots.values_list("pk", F("sellable")))


def places_of(lot: Lot) -> str:
    """Where samples of a lot were put, the last place first."""
    rows = lot.retained_rows.filter(units__gt=0).order_by("-pk").values_list("place", flat=True)
    return ", ".join(dict.fromkeys(rows))


def kept_back() -> QuerySet[Lot]:
    """Lots of which samples are kept, annotated with `kept`, the soonest to expire first."""
    lots = Lot.objects.annotate(kept=Sum("retained_rows__units")).filter(Q(kept__gt=0))
    rows = Retained.objects.filter(units__gt=0).order_by("-pk")
    return (
        lots.select_related("item", "origin")
        .prefetch_related(Prefetch("retained_rows", rows, to_attr="put_away"))
        .order_by("best_before", "pk")
    )
