"""Plan a batch: a formula scaled to a kettle."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.formatting import number, with_unit
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.formulas.models import Line, Version, VersionStatus
from workshop.kettle.models import Batch, BatchLine, Kettle, Scale
from workshop.kettle.weighing.weighed_superfat import refuse_lye_planned
from workshop.ledger import services as ledger
from workshop.ledger.models import OperationKind
from workshop.rules.errors import RuleError
from workshop.rules.quantities.scaling import batch_weight_g, scale_formula
from workshop.rules.quantities.units import ceil_to


@transaction.atomic
def plan_batch(
    version: Version,
    *,
    kettle: Kettle,
    scale: Scale,
    units: int | None = None,
    fill_g: Decimal | None = None,
    target_g: Decimal | None = None,
    expected_loss: Decimal | None = None,
    by: User,
    at: datetime,
    token: str,
) -> Batch:
    """Scale an approved version to a kettle, by `units` of `fill_g` or by `target_g` in all.

    Every line gets a weight at the scale's division; together they are the target exactly.
    """
    check_idempotency(
        token,
        "batch",
        version=version,
        kettle=kettle,
        scale=scale,
        units=units,
        fill=fill_g,
        weight=target_g,
        expected_loss=expected_loss,
    )
    operation = ledger.open_operation(OperationKind.BATCH, by=by, at=at, token=token)
    known = Batch.objects.filter(operation=operation).first()
    if known:
        return known
    loss = version.expected_loss if expected_loss is None else expected_loss
    if not 0 <= loss < 100:
        raise ActionRefused("A loss lies between 0 and below 100 %.", field="expected_loss")
    target = _target_g(units, fill_g, target_g, loss, scale)
    _refuse_unfit(version, kettle, scale)
    _refuse_weight(target, kettle, scale)
    lines = list(version.lines.select_related("item"))
    weights = _line_weights(lines, target, scale)
    refuse_lye_planned([(one.item, g) for one, g in zip(lines, weights, strict=True)], kettle)
    batch = Batch.objects.create(
        operation=operation,
        version=version,
        kettle=kettle,
        scale=scale,
        target_g=target,
        expected_loss=loss,
        units=units if target_g is None else None,
        fill_g=fill_g if target_g is None else None,
    )
    BatchLine.objects.bulk_create(
        _line(batch, line, weight) for line, weight in zip(lines, weights, strict=True)
    )
    return batch


def _target_g(
    units: int | None,
    fill_g: Decimal | None,
    target_g: Decimal | None,
    loss: Decimal,
    scale: Scale,
) -> Decimal:
    if target_g is not None:
        return target_g
    if units is None or fill_g is None:
        raise ActionRefused("Give the grams wanted, or the number of units and the fill of one.")
    try:
        return batch_weight_g(units, fill_g, loss / 100, division_g=scale.division_g)
    except RuleError as error:
        raise ActionRefused(str(error), field="units") from error


def _refuse_unfit(version: Version, kettle: Kettle, scale: Scale) -> None:
    if version.status != VersionStatus.APPROVED:
        raise ActionRefused(
            f"{version} is {version.get_status_display()}. "
            "Only an approved version can be made; choose another.",
            field="version",
        )
    if not kettle.is_active:
        raise ActionRefused(f"{kettle} is out of use. Choose another kettle.", field="kettle")
    if not scale.is_active:
        raise ActionRefused(f"{scale} is out of use. Choose another scale.", field="scale")


def _refuse_weight(target_g: Decimal, kettle: Kettle, scale: Scale) -> None:
    if target_g <= 0:
        raise ActionRefused("A batch weighs more than nothing.", field="target_g")
    if target_g % scale.division_g:
        nearest = number(ceil_to(target_g, scale.division_g))
        raise ActionRefused(
            f"The {scale} shows steps of {number(scale.division_g)} g, so a batch on it cannot "
            f"weigh {number(target_g)} g; {nearest} g would do.",
            field="target_g",
        )
    if target_g > kettle.capacity_g:
        raise ActionRefused(
            f"{with_unit(target_g, 'g')} is more than the {with_unit(kettle.capacity_g, 'g')} "
            f"that {kettle} holds. Make less, or choose a larger kettle.",
            field="kettle",
        )


def _line_weights(lines: Sequence[Line], target_g: Decimal, scale: Scale) -> list[Decimal]:
    for line in lines:
        exact = target_g * line.share / 100
        if exact < scale.division_g:
            raise ActionRefused(
                f"{line.item} would be {number(exact)} g, less than the {scale} can show "
                f"({number(scale.division_g)} g). Make a larger batch or choose a finer scale.",
                field="scale",
            )
    try:
        return scale_formula([line.share for line in lines], target_g, scale.division_g)
    except RuleError as error:
        raise ActionRefused(str(error), field="target_g") from error


def _line(batch: Batch, line: Line, weight_g: Decimal) -> BatchLine:
    return BatchLine(
        batch=batch,
        formula_line=line,
        item=line.item,
        order=line.order,
        phase=line.phase,
        target_g=weight_g,
        tolerance=line.tolerance,
        is_irreversible=line.is_irreversible,
    )
