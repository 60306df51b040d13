"""What packing refuses, each with its sentence: odd products, odd figures, lots not to be used."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.utils import timezone

from workshop.core.errors import Refused
from workshop.core.shown import day, number, with_unit
from workshop.ledger.models import Item, Kind, Lot, Status, Unit
from workshop.packing.models import Product
from workshop.rules import dates
from workshop.rules.errors import RuleError
from workshop.rules.gs1 import check_gtin, gtin14

MOST_UNITS = 100_000
LEAST_SHARE_OF_FILL = Decimal("0.90")
USUAL_SHARE_OF_FILL = Decimal("0.05")
# A unit's own label has room for these; 14 digits number a carton.
UNIT_GTIN_LENGTHS = (8, 12, 13)


@dataclass(frozen=True)
class Packing:
    """What was done at the bench: so many units, out of these lots."""

    units: int
    bulk: Mapping[Lot, Decimal]
    containers: Mapping[Lot, Decimal]
    spoiled: int
    made_on: date

    @property
    def bulk_g(self) -> Decimal:
        return sum(self.bulk.values(), Decimal(0))

    @property
    def taken(self) -> dict[Lot, Decimal]:
        return {**self.bulk, **self.containers}


def refuse_wrong_parts(bulk: Item, container: Item) -> None:
    if bulk.kind != Kind.BULK:
        raise Refused(f"{bulk} is not a bulk made here.", field="bulk")
    if container.kind != Kind.PACKAGING or container.unit != Unit.EACH:
        raise Refused(f"{container} is not packaging counted in pieces.", field="container")


def own_gtin(text: str, product: Product) -> str:
    """The GTIN's digits, checked, and not another product's under any length."""
    if not text.strip():
        return ""
    try:
        gtin = check_gtin(text)
    except RuleError as error:
        raise Refused(str(error), field="gtin") from error
    if len(gtin) not in UNIT_GTIN_LENGTHS:
        raise Refused(
            "14 digits number a carton; a single unit has a GTIN of 8, 12 or 13 digits.",
            field="gtin",
        )
    taken = Product.objects.exclude(gtin="").exclude(pk=product.pk)
    for other in taken.filter(gtin__endswith=gtin.lstrip("0")):
        if gtin14(other.gtin) == gtin14(gtin):
            raise Refused(f"{other} already has this GTIN.", field="gtin")
    return gtin


def refuse_odd_figures(product: Product, done: Packing, *, at: datetime, confirmed: bool) -> None:
    if not 0 < done.units <= MOST_UNITS:
        raise Refused(f"Pack from 1 to {number(Decimal(MOST_UNITS))} units.", field="units")
    if done.spoiled < 0:
        raise Refused("Spoiled containers cannot be fewer than none.", field="spoiled")
    if done.made_on > timezone.localdate(at):
        raise Refused("The day of packing lies in the future.", field="made_on")
    pieces = sum(done.containers.values(), Decimal(0))
    if pieces != done.units + done.spoiled:
        raise Refused(
            f"{done.units} units and {done.spoiled} spoiled need {done.units + done.spoiled} "
            f"containers, and {number(pieces)} are entered.",
            field="spoiled",
        )
    _refuse_odd_weight(product, done, confirmed=confirmed)


def _refuse_odd_weight(product: Product, done: Packing, *, confirmed: bool) -> None:
    wanted = done.units * product.fill_g
    sentence = (
        f"{done.units} units of {with_unit(product.fill_g, 'g')} hold {with_unit(wanted, 'g')}, "
        f"and {with_unit(done.bulk_g, 'g')} of bulk is entered."
    )
    if done.bulk_g < wanted * LEAST_SHARE_OF_FILL:
        raise Refused(
            f"{sentence} That is too little to be true: correct the units or the grams.",
            field="units",
        )
    if abs(done.bulk_g - wanted) > wanted * USUAL_SHARE_OF_FILL and not confirmed:
        raise Refused(
            f"{sentence} That is more than 5 % away: correct it, or tick that it is right.",
            field="confirmed",
        )


def refuse_unusable_lots(product: Product, done: Packing) -> None:
    for lots, item in ((done.bulk, product.bulk), (done.containers, product.container)):
        for lot in lots:
            _refuse_unusable(lot, item, product, done.made_on)


def _refuse_unusable(lot: Lot, item: Item, product: Product, made_on: date) -> None:
    sentence = ""
    if lot.item_id != item.pk:
        sentence = f"Lot {lot} is {lot.item}, and {product} is packed with {item}."
    elif lot.status != Status.RELEASED:
        sentence = f"Lot {lot} is {lot.get_status_display()}; only a released lot is packed."
    elif lot.best_before and dates.is_past(lot.best_before, made_on):
        sentence = f"Lot {lot} was best before {day(lot.best_before)} and cannot be packed."
    elif lot.made_on > made_on:
        sentence = f"Lot {lot} is dated {day(lot.made_on)}, after the day of packing."
    if sentence:
        raise Refused(sentence, field=lot_field(lot))


def lot_field(lot: Lot) -> str:
    """The name of the form field that says how much of `lot` is taken."""
    return f"lot_{lot.pk}"
