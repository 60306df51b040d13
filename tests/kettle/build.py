"""Builders of the kettle's tests: a kettle, a scale, an approved formula, a batch under way."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from tests import make
from workshop.core.models import Role, User
from workshop.core.saving.new_tokens import new_token
from workshop.formulas.models import Formula, Line, Step, Version, VersionStatus
from workshop.kettle import services
from workshop.kettle.models import Batch, BatchLine, Kettle, KettleMaterial, Scale, Weighing
from workshop.ledger.models import Item, ItemKind, Lot

# Common practice, no source: a soft balm, 46.1 g in all.
SOFT_BALM = (("Solid oil", "37.3"), ("Wax", "5.2"), ("Liquid oil", "3.6"))
SOFT_BALM_G = Decimal("46.1")


def kettle(capacity_g: int | str = 9000, **values: Any) -> Kettle:
    values.setdefault("name", f"Kettle {Kettle.objects.count() + 1}")
    values.setdefault("material", KettleMaterial.STEEL)
    return Kettle.objects.create(capacity_g=Decimal(capacity_g), **values)


def scale(division_g: str = "0.1", capacity_g: int | str = 6000, **values: Any) -> Scale:
    values.setdefault("name", f"Scale {Scale.objects.count() + 1}")
    return Scale.objects.create(
        division_g=Decimal(division_g), capacity_g=Decimal(capacity_g), **values
    )


def formula(item: Item | None = None) -> Formula:
    item = item or make.item(ItemKind.BULK)
    return Formula.objects.create(item=item, name=f"Making of {item.code}")


def version(
    shares: Sequence[tuple[Item, str]] | None = None,
    *,
    steps: Sequence[dict[str, Any]] = (),
    approved: bool = True,
    of: Formula | None = None,
    **values: Any,
) -> Version:
    """A version of one item each share; without shares, half and half of two materials."""
    by = make.user()
    made = Version.objects.create(
        formula=of or formula(), number=1, made_at=make.NOON, made_by=by, **values
    )
    parts = shares or [(make.item(), "50"), (make.item(), "50")]
    for order, (item, share) in enumerate(parts, start=1):
        Line.objects.create(version=made, item=item, order=order, share=Decimal(share))
    for order, step in enumerate(steps, start=1):
        Step.objects.create(version=made, order=order, **step)
    if approved:
        made.status = VersionStatus.APPROVED
        made.approved_at, made.approved_by = make.NOON, by
        made.save()
    return made


def soft_balm(**values: Any) -> Version:
    """The soft balm's grams as shares that add up to 100 %."""
    shares = ["80.9111", "11.2798", "7.8091"]
    items = [make.item(name=name) for name, _ in SOFT_BALM]
    return version(list(zip(items, shares, strict=True)), **values)


def batch(of: Version | None = None, *, target_g: str = "1000", **values: Any) -> Batch:
    values.setdefault("kettle", None)
    values.setdefault("scale", None)
    values["kettle"] = values["kettle"] or kettle()
    values["scale"] = values["scale"] or scale()
    values.setdefault("by", make.user(Role.MAKER))
    values.setdefault("at", make.NOON)
    values.setdefault("token", new_token())
    if "units" not in values:
        values["target_g"] = Decimal(target_g)
    return services.plan_batch(of or version(), **values)


def weigh(
    line: BatchLine, grams: str | None = None, *, lot: Lot | None = None, **values: Any
) -> Weighing:
    """A reading of the line's target from a fresh lot of its item, unless said otherwise."""
    values.setdefault("scale", line.batch.scale)
    values.setdefault("by", make.user(Role.MAKER))
    values.setdefault("at", make.NOON)
    values.setdefault("token", new_token())
    reading = Decimal(grams) if grams else line.target_g
    return services.record_weighing(line, lot or make.lot(line.item), reading, **values)


def filled(of: Version | None = None, **values: Any) -> Batch:
    """A batch with every line weighed to its target."""
    made = batch(of, **values)
    for line in made.lines.all():
        weigh(line)
    return Batch.objects.get(pk=made.pk)


def pour(of: Batch, grams: str = "970", **values: Any) -> list[Lot]:
    values.setdefault("by", make.user(Role.MAKER))
    values.setdefault("at", make.NOON)
    values.setdefault("token", new_token())
    return services.pour(of, [(None, Decimal(grams))], **values)


def poured(of: Version | None = None, grams: str = "970", **values: Any) -> Batch:
    made = filled(of, **values)
    pour(made, grams)
    return Batch.objects.get(pk=made.pk)


def release(of: Batch, *, by: User | None = None, **values: Any) -> list[Lot]:
    """Signed by an owner."""
    by = by or owner()
    values.setdefault("at", make.NOON)
    return services.release_batch(of, by=by, confirmed=make.signed(by), **values)


def owner() -> User:
    return make.user(Role.OWNER)
