"""What the scales can do for each line of a batch, said before it begins."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import cast

from workshop.kettle.models import Batch, BatchLine, Scale
from workshop.rules.quantities import scales
from workshop.rules.quantities.units import ceil_to


@dataclass(frozen=True)
class Advice:
    """Whether the scale of the batch will do for a line, and the one that would do better."""

    check: scales.WeighCheck
    better: Scale | None

    @property
    def is_fine(self) -> bool:
        return self.check.verdict == "fine"


@dataclass(frozen=True)
class Fitness:
    """How well a line can be weighed on the scale it is meant for, and what the batch's needs."""

    line: BatchLine
    scale: Scale
    check: scales.WeighCheck
    smallest_load_g: Decimal
    cure_g: Decimal | None

    @property
    def off_percent(self) -> Decimal:
        """How far off the weight may be at worst, rounded up."""
        return ceil_to(100 * self.check.relative_error, Decimal("0.01"))


def fitness(batch: Batch, line: BatchLine, scale: Scale) -> Fitness:
    """Hold a line against its scale; `cure_g` is the batch from which the batch's own will do."""
    rule, tolerance = as_rule(scale), line.tolerance / 100
    return Fitness(
        line,
        scale,
        scales.weigh_check(rule, line.aim_g, tolerance),
        scales.smallest_load_g(rule),
        cure_g(batch, [line]),
    )


def as_rule(scale: Scale) -> scales.ScaleLimits:
    return scales.ScaleLimits(
        name=scale.name,
        division_g=scale.division_g,
        verification_g=scale.interval_g or scale.division_g,
        accuracy_class=cast(scales.AccuracyClass, scale.accuracy_class),
        capacity_g=scale.capacity_g,
    )


def advice(line: BatchLine, scale: Scale, others: Iterable[Scale]) -> Advice:
    """Hold one planned line against the scale of its batch and, if need be, the others."""
    tolerance = line.tolerance / 100
    check = scales.weigh_check(as_rule(scale), line.aim_g, tolerance)
    if check.verdict == "fine":
        return Advice(check, None)
    by_rule = {as_rule(one): one for one in [scale, *others]}
    best, its_check = scales.choose_scale(by_rule, line.aim_g, tolerance)
    better = by_rule[best]
    gains = better != scale and its_check.verdict in ("fine", "outside tolerance")
    return Advice(check, better if gains else None)


def cure_g(batch: Batch, lines: Sequence[BatchLine]) -> Decimal | None:
    """The smallest batch of this formula that the scale of the batch can weigh well."""
    shares = [
        (line.formula_line.share, line.tolerance / 100) for line in lines if line.formula_line
    ]
    return scales.smallest_batch_g(shares, as_rule(batch.scale), at_most_g=batch.kettle.capacity_g)
