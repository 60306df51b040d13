"""Builders for the packing room, through its services."""

from decimal import Decimal
from typing import Any

from tests import make
from workshop.core.models import User
from workshop.core.saving.new_tokens import new_token
from workshop.kettle.models import Scale
from workshop.ledger.models import ItemKind, Lot
from workshop.packing import services
from workshop.packing.models import FillSample, PackingRun, Product, Reading
from workshop.packing.services import fill_weights, products


def product(*, by: User | None = None, **values: Any) -> Product:
    """A 60 g tin of a bulk of its own."""
    by = by or make.user()
    values.setdefault("bulk", make.item(ItemKind.BULK))
    values.setdefault("container", make.item(ItemKind.PACKAGING, name="Tin, 60 g"))
    values.setdefault("fill_g", Decimal(60))
    values.setdefault("name", "Hand salve 60 g")
    values.setdefault("code", make.item(ItemKind.PACKAGING).code + "P")
    return products.save_product(products.ProductFacts(**values), by=by)


def packed(
    of: Product | None = None,
    units: int = 40,
    *,
    bulk: Lot | list[tuple[Lot, Decimal]] | None = None,
    containers: Lot | None = None,
    by: User | None = None,
    **values: Any,
) -> Lot:
    """A finished lot of `units`, from a bulk and a container lot that are made if not given."""
    by = by or make.user()
    of = of or product(by=by)
    bulk = bulk or make.lot(of.bulk, on_hand=max(Decimal(5000), units * of.fill_g), by=by)
    containers = containers or make.lot(of.container, on_hand=max(500, units), by=by)
    takes = [(bulk, units * of.fill_g)] if isinstance(bulk, Lot) else bulk
    values.setdefault("containers", [(containers, units + values.get("spoiled", 0))])
    values.setdefault("made_on", make.day())
    values.setdefault("token", new_token())
    return services.pack(of, units=units, bulk=takes, by=by, at=make.NOON, **values)


def run(of: Product | None = None, units: int = 40, *, by: User | None = None) -> PackingRun:
    """A run under way."""
    by = by or make.user()
    of = of or product(by=by)
    return services.plan_run(of, units=units, by=by, at=make.NOON, token=new_token())


def run_of(lot: Lot) -> PackingRun:
    return PackingRun.objects.get(operation=lot.origin)


def scale(division_g: str = "0.1", **values: Any) -> Scale:
    values.setdefault("name", f"Scale {Scale.objects.count() + 1}")
    return Scale.objects.create(division_g=Decimal(division_g), capacity_g=Decimal(6000), **values)


def weighed(
    of: PackingRun, weights: str, kind: Reading = Reading.NET, **values: Any
) -> list[FillSample]:
    """Weights of one kind, written as they are typed: "60.2 59.9"."""
    values.setdefault("by", make.user())
    values.setdefault("token", new_token())
    values.setdefault("confirmed", True)
    values.setdefault("reason", "weighed late")
    grams = [Decimal(weight) for weight in weights.split()]
    return fill_weights.weigh(of, kind, grams, at=make.NOON, **values)


def errors(label: int, text: str) -> str:
    """Weights that miss `label` by these errors."""
    return " ".join(str(label + Decimal(error)) for error in text.split())
