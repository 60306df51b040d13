"""Builders of the workbench: materials with lots, prices and limits, and real batches to match."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from tests import make
from tests.costs import build as costs
from tests.formulas import build as formulas
from tests.goods_in import build as goods
from tests.kettle import build as kettle
from tests.labels import build as labels
from tests.packing import build as packing
from workshop.formulas.models import Formula, Version
from workshop.kettle.models import Batch, BatchLine
from workshop.ledger import services as ledger
from workshop.ledger.models import Item, ItemKind, Lot, Status
from workshop.packing.models import Product
from workshop.workbench.bench import bench_of
from workshop.workbench.outcome import Outcome
from workshop.workbench.trial import Trial, TriedLine, lines_of


def material(name: str, price: str = "10", *, grams: int = 50_000, **values: Any) -> Lot:
    """A released lot of a material, `price` a kilogram; `organic_until` makes it organic."""
    lot = labels.oil(name, grams=grams, **values)
    total = Decimal(price) * grams / 1000
    costs.paid(lot, str(total))
    return lot


@dataclass
class Shop:
    """A salve of four lots, packed in tins, with its formula approved."""

    lots: list[Lot]
    shares: Sequence[str]
    name: str = "Meadow salve"
    more: dict[str, Any] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.owner = make.user()
        lines = [
            formulas.line(share, lot.item)
            for share, lot in zip(self.shares, self.lots, strict=True)
        ]
        self.bulk: Item = make.item(ItemKind.BULK, name=f"{self.name}, bulk")
        self.formula: Formula = formulas.formula(self.bulk, name=self.name)
        self.version: Version = formulas.approved(*lines, of=self.formula, **self.more)
        self.tins: Lot = goods.lot(goods.packaging(), grams=5000)
        costs.paid(self.tins, "1000")
        self.product: Product = packing.product(
            bulk=self.bulk, container=self.tins.item, fill_g=Decimal(60), name=f"{self.name} 60 g"
        )

    def trial(self, *lines: TriedLine, **values: Any) -> Trial:
        version = Version.objects.in_full().get(pk=self.version.pk)
        values.setdefault("batch_g", Decimal(1000))
        values.setdefault("product", self.product)
        values.setdefault("fill_g", self.product.fill_g)
        return Trial(version=version, lines=lines or lines_of(version), **values)

    def outcome(self, trial: Trial | None = None) -> Outcome:
        trial = trial or self.trial()
        return Outcome(trial, bench_of([trial], on=make.DAY), 0)


def shop(lots: Sequence[Lot], shares: Sequence[str], name: str = "Meadow salve") -> Shop:
    return Shop(list(lots), shares, name)


def weighed(
    of: Version, lots: Sequence[Lot], *, target_g: Decimal, made_g: Decimal
) -> tuple[Batch, Lot]:
    """A batch by the services: every line weighed to its target, poured, signed and released."""
    made = kettle.batch(of, target_g=str(target_g), scale=kettle.scale("0.001"))
    by_item = {lot.item_id: lot for lot in lots}
    for line in BatchLine.objects.filter(batch=made).order_by("order"):
        kettle.weigh(line, lot=by_item[line.item_id])
    (bulk,) = kettle.pour(Batch.objects.get(pk=made.pk), str(made_g))
    batch = Batch.objects.get(pk=made.pk)
    kettle.release(batch)
    return batch, Lot.objects.get(pk=bulk.pk)


def packed(product: Product, bulk: Lot, tins: Lot, units: int) -> Lot:
    lot = packing.packed(product, units, bulk=bulk, containers=tins, draw=labels.digits_only)
    return ledger.set_lot_status(
        lot, Status.RELEASED, by=make.user(), at=make.NOON, reason="Looked at."
    )
