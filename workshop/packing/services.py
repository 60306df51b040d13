"""What can happen in packing: a product is described, units are packed, a finished lot judged."""

import secrets
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils import timezone

from workshop.core.errors import Refused
from workshop.core.kept import keep_row
from workshop.core.models import User
from workshop.ledger import services as ledger
from workshop.ledger.models import Act, Item, Kind, Lot, Operation, Side, Status, Unit
from workshop.packing.checks import (
    Packing,
    own_gtin,
    refuse_odd_figures,
    refuse_unusable_lots,
    refuse_wrong_parts,
)
from workshop.packing.models import PackingRun, Product
from workshop.packing.reads import inputs_of, shelf_life_months
from workshop.rules import dates

CONTENTS = ("bulk", "container", "fill_g")
WORDS = (
    "unit_name",
    "shelf_life_months",
    "identity",
    "directions",
    "cautions",
    "claims_organic",
    "is_small_package",
)


@dataclass(frozen=True, kw_only=True)
class ProductFacts:
    """Everything that describes a product, as its form gives it."""

    code: str
    name: str
    bulk: Item
    container: Item
    fill_g: Decimal
    unit_name: str = "tin"
    shelf_life_months: int | None = None
    gtin: str = ""
    label_name: str = ""
    identity: str = ""
    directions: str = ""
    cautions: str = ""
    claims_organic: bool = False
    is_small_package: bool = False
    is_active: bool = True


@transaction.atomic
def save_product(
    facts: ProductFacts, *, by: User, at: datetime | None = None, product: Product | None = None
) -> Product:
    """Keep a new product, or the changed facts of `product`.

    What a unit holds cannot change once units were packed: their labels would become untrue.
    """
    refuse_wrong_parts(facts.bulk, facts.container)
    if product is not None:
        product = Product.objects.select_for_update(of=("self",)).get(pk=product.pk)
        _refuse_other_contents(product, facts)
    item = product.item if product else Item(kind=Kind.PRODUCT, unit=Unit.EACH)
    item.code, item.name, item.is_active = facts.code, facts.name, facts.is_active
    product = product or Product()
    product.item = keep_row(item, by=by, at=at)
    for name in (*CONTENTS, *WORDS):
        setattr(product, name, getattr(facts, name))
    product.label_name = facts.label_name or facts.name
    product.gtin = own_gtin(facts.gtin, product)
    return keep_row(product, by=by, at=at)


def _refuse_other_contents(product: Product, facts: ProductFacts) -> None:
    if not product.runs.exists():
        return
    for name in CONTENTS:
        if getattr(product, name) != getattr(facts, name):
            raise Refused(
                f"Units of {product} were already packed, and their labels must stay true. "
                "Make a new product for another content.",
                field=name,
            )


@transaction.atomic
def plan_run(product: Product, *, by: User, at: datetime, token: str, note: str = "") -> PackingRun:
    """Begin a packing run; the same token again answers with the run already begun."""
    operation = ledger.open_operation(Act.PACKING, by=by, at=at, token=token)
    run = PackingRun.objects.filter(operation=operation).select_related("operation").first()
    if run is None:
        return PackingRun.objects.create(operation=operation, product=product, note=note)
    if run.product_id != product.pk:
        raise Refused("This form was already used for another product. Reload the page.")
    return run


@transaction.atomic
def pack(
    product: Product,
    *,
    units: int,
    bulk: Sequence[tuple[Lot, Decimal]],
    containers: Sequence[tuple[Lot, int]],
    by: User,
    at: datetime,
    token: str,
    made_on: date,
    spoiled: int = 0,
    confirmed: bool = False,
    note: str = "",
    draw: Callable[[int], int] = secrets.randbelow,
) -> Lot:
    """Pack `units` of a product and answer with the finished lot, in quarantine.

    `spoiled` containers were used up without becoming a unit. Leftover bulk simply stays in its
    lot. `confirmed` says that an unusual weight of bulk for these units was looked at. What the
    book is short of is taken all the same, and stands below zero until it is counted.

    The same token again answers with the lot already packed. Raises Refused, and writes
    nothing, for lots that may not be used and figures that do not belong together.
    """
    run = plan_run(product, by=by, at=at, token=token, note=note)
    done = Packing(units, _locked(bulk), _locked(containers), spoiled, made_on)
    if run.operation.lots.exists():
        return _packed_before(run.operation, done)
    refuse_odd_figures(product, done, at=at, confirmed=confirmed)
    refuse_unusable_lots(product, done)
    lot = ledger.create_lot(
        product.item,
        origin=run.operation,
        made_on=made_on,
        best_before=best_before_of(product, made_on, done.taken),
        by=by,
        at=at,
        draw=draw,
    )
    _post_all(run.operation, done, lot, by=by, at=at)
    details = _record(run, done, lot) | {"unusual_weight_confirmed": confirmed}
    ledger.close_operation(run.operation, by=by, at=at, details=details)
    return lot


def _locked(rows: Iterable[tuple[Lot, Decimal | int]]) -> dict[Lot, Decimal]:
    """What is taken of each lot, its status as it stands now and kept from changing."""
    taken: dict[int, Decimal] = {}
    for lot, quantity in rows:
        if quantity:
            taken[lot.pk] = taken.get(lot.pk, Decimal(0)) + Decimal(quantity)
    lots = Lot.objects.select_for_update(of=("self",)).select_related("item")
    return {lot: taken[lot.pk] for lot in lots.filter(pk__in=taken).order_by("pk")}


def _packed_before(operation: Operation, done: Packing) -> Lot:
    taken = {posting.lot: posting.moved for posting in inputs_of(operation)}
    made = operation.postings.standing().select_related("lot__item").filter(side=Side.OUT).first()
    if made is None or taken != done.taken or made.moved != Decimal(done.units):
        raise Refused("This form was already used with other figures. Reload the page.")
    return made.lot


def best_before_of(product: Product, made_on: date, consumed: Iterable[Lot]) -> date | None:
    """The earliest of the day of packing + shelf life and the dates of all lots used."""
    lots = list(consumed)
    months = shelf_life_months(product, lots)
    return dates.best_before(made_on, months, [lot.best_before for lot in lots])


def _post_all(operation: Operation, done: Packing, lot: Lot, *, by: User, at: datetime) -> None:
    for source, quantity in done.taken.items():
        ledger.post(operation, source, Side.IN, quantity, by=by, at=at)
    ledger.post(operation, lot, Side.OUT, Decimal(done.units), by=by, at=at)


def _record(run: PackingRun, done: Packing, lot: Lot) -> dict[str, Any]:
    return {
        "product": run.product.item.code,
        "fill_g": run.product.fill_g,
        "units": done.units,
        "spoiled": done.spoiled,
        "made_on": done.made_on,
        "best_before": lot.best_before,
        "note": run.note,
    }


@transaction.atomic
def take_back(run: PackingRun, *, by: User, at: datetime, reason: str) -> PackingRun:
    """Undo a whole run that was recorded wrongly: what it took is back in its lots.

    The finished lot stays on record, empty and rejected. Raises Refused unless an owner does
    it, with a reason, while every unit is still here.
    """
    operation = ledger.amend_operation(run.operation, by=by, at=at, reason=reason)
    standing = list(operation.postings.standing().select_related("lot__item", "operation"))
    made = next((posting for posting in standing if posting.side == Side.OUT), None)
    if made is None:
        raise Refused(f"{operation} was already taken back.")
    if ledger.on_hand(made.lot) != made.moved:
        raise Refused(
            f"Units of lot {made.lot} have left or were counted, so the run stays as it is."
        )
    for posting in standing:
        ledger.reverse(posting, by=by, at=at, reason=reason)
    if made.lot.status != Status.REJECTED:
        ledger.set_lot_status(made.lot, Status.REJECTED, by=by, at=at, reason=reason)
    details = {"product": run.product.item.code, "taken_back": reason.strip()}
    ledger.close_operation(operation, by=by, at=at, details=details)
    return run


@transaction.atomic
def release(lot: Lot, *, by: User, at: datetime) -> Lot:
    """Let a finished lot go to customers, unless something in it no longer may."""
    _refuse_settled(lot)
    if dates.is_past(lot.best_before, timezone.localdate(at)):
        raise Refused(f"Lot {lot} is past its best-before date.")
    for posting in inputs_of(lot.origin):
        used = posting.lot
        if used.status in (Status.ON_HOLD, Status.REJECTED):
            raise Refused(
                f"Lot {used} ({used.item}) went into it and is {used.get_status_display()}; "
                "decide about that one first."
            )
    return ledger.set_lot_status(lot, Status.RELEASED, by=by, at=at)


@transaction.atomic
def hold(lot: Lot, *, by: User, at: datetime, reason: str) -> Lot:
    """Stop a finished lot until somebody has looked into it."""
    _refuse_settled(lot)
    return ledger.set_lot_status(lot, Status.ON_HOLD, by=by, at=at, reason=reason)


@transaction.atomic
def reject(lot: Lot, *, by: User, at: datetime, reason: str) -> Lot:
    """Take a finished lot out of use for good."""
    _refuse_settled(lot)
    return ledger.set_lot_status(lot, Status.REJECTED, by=by, at=at, reason=reason)


def _refuse_settled(lot: Lot) -> None:
    if lot.origin.kind != Act.PACKING:
        raise Refused(f"Lot {lot} was not packed here.")
    if lot.status == Status.REJECTED:
        raise Refused(f"Lot {lot} was rejected and stays so.")
