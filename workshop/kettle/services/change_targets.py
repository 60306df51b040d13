"""Change the targets of a batch under way: accept, rebalance, adjust, set to a substitute."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from typing import Self

from django.db import transaction
from django.utils import timezone

from workshop.core.errors import ActionRefused
from workshop.core.formatting import with_unit
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.kettle.adjustments.adjusted_weights import adjustment, proportion
from workshop.kettle.adjustments.kettle_contents import KettleContents, contents_of
from workshop.kettle.adjustments.options import CorrectionOption, accepted, rebalanced, restored
from workshop.kettle.models import Batch, BatchLine, TargetChange, TargetChangeKind
from workshop.kettle.services.batch_state import lock
from workshop.rules.errors import RuleError
from workshop.rules.kettle.tolerance_bands import band_g
from workshop.rules.quantities.scaling import MILLIGRAM_G
from workshop.rules.quantities.units import ceil_to, floor_to

WAYS = {
    TargetChangeKind.ACCEPT: accepted,
    TargetChangeKind.REBALANCE: rebalanced,
    TargetChangeKind.RESTORE: restored,
}
NEW_FIGURES = (
    "Something was weighed meanwhile, so the figures are new. Look at them, then choose again."
)


@dataclass(frozen=True)
class Target:
    """What a line is to come to, and between which weights it has."""

    g: Decimal
    least_g: Decimal
    most_g: Decimal

    @classmethod
    def of(cls, line: BatchLine, g: Decimal) -> Self:
        """A target with the line's own tolerance around all of it."""
        half = g * line.tolerance / 100
        return cls(g, ceil_to(g - half, MILLIGRAM_G), floor_to(g + half, MILLIGRAM_G))

    @classmethod
    def by_adding(cls, line: BatchLine, add_g: Decimal) -> Self:
        """More of a line: its tolerance holds for what is to be added, or it would not be asked."""
        base = line.taken_g if line.is_done else line.aim_g
        to_add = base + add_g - line.taken_g
        half = to_add * line.tolerance / 100
        low, high = base + add_g - half, base + add_g + half
        return cls(base + add_g, ceil_to(low, MILLIGRAM_G), floor_to(high, MILLIGRAM_G))


@transaction.atomic
def mend(
    batch: Batch,
    kind: TargetChangeKind,
    *,
    figures_hash: str,
    reason: str,
    by: User,
    at: datetime,
    token: str,
) -> list[TargetChange]:
    """Accept a melt that left its formula, or set new targets that bring it back.

    `figures_hash` is the mark of the figures the person chose by; other figures are not acted upon.
    """
    check_idempotency(token, "correction", batch=batch, kind=kind, reason=reason)
    batch = lock(batch.pk)
    known = same_changes(token)
    if known:
        return known
    melt = open_melt(batch, figures_hash=figures_hash, reason=reason, at=at)
    if not melt.over:
        raise ActionRefused("No line is above its tolerance any more; there is nothing to correct.")
    way = WAYS[kind](melt)
    if way.refusal:
        raise ActionRefused(way.refusal)
    targets = _accepted_targets(melt) if kind == TargetChangeKind.ACCEPT else targets_of(melt, way)
    return write(melt, kind, targets, reason=reason, by=by, at=at, token=token)


@transaction.atomic
def adjust(
    batch: Batch,
    line: BatchLine,
    points: Decimal,
    adding: BatchLine,
    *,
    figures_hash: str,
    reason: str,
    by: User,
    at: datetime,
    token: str,
) -> list[TargetChange]:
    """Raise or lower the share of `line` by percentage points, by adding more of `adding`."""
    check_idempotency(
        token, "adjustment", batch=batch, line=line, points=points, adding=adding, reason=reason
    )
    batch = lock(batch.pk)
    known = same_changes(token)
    if known:
        return known
    melt = open_melt(batch, figures_hash=figures_hash, reason=reason, at=at)
    found = adjustment(melt, line, points, adding)
    reason = f"Spoon test: {reason.strip()}"
    targets = {adding.pk: Target.by_adding(found.line, found.add_g)}
    return write(melt, TargetChangeKind.ADJUST, targets, reason=reason, by=by, at=at, token=token)


@transaction.atomic
def set_proportion(
    batch: Batch,
    line: BatchLine,
    ratio: Decimal,
    *,
    figures_hash: str,
    reason: str,
    by: User,
    at: datetime,
    token: str,
) -> list[TargetChange]:
    """Aim at `ratio` parts of a substitute for each part of a line that is still to come."""
    check_idempotency(token, "proportion", batch=batch, line=line, ratio=ratio, reason=reason)
    batch = lock(batch.pk)
    known = same_changes(token)
    if known:
        return known
    melt = open_melt(batch, figures_hash=figures_hash, reason=reason, at=at)
    found = proportion(melt, line, ratio)
    targets = {line.pk: Target.of(found.line, found.line.aim_g + found.add_g)}
    return write(
        melt, TargetChangeKind.SUBSTITUTE, targets, reason=reason, by=by, at=at, token=token
    )


def same_changes(token: str) -> list[TargetChange]:
    """What was written under this token already; the answer is then the same again."""
    return list(TargetChange.objects.filter(token=token).select_related("line__item"))


def open_melt(batch: Batch, *, figures_hash: str, reason: str, at: datetime) -> KettleContents:
    """The melt as it stands, if it may be changed and is what the person saw."""
    if not batch.is_being_weighed:
        raise ActionRefused(
            f"{batch} is {batch.get_state_display()}; its targets stay as they are."
        )
    if not reason.strip():
        raise ActionRefused("Say why.", field="reason")
    melt = contents_of(batch, on=timezone.localdate(at))
    if melt.figures_hash != figures_hash:
        raise ActionRefused(NEW_FIGURES)
    return melt


def _accepted_targets(melt: KettleContents) -> dict[int, Target]:
    return {line.pk: Target.of(line, line.taken_g) for line in melt.over}


def targets_of(melt: KettleContents, way: CorrectionOption) -> dict[int, Target]:
    """What each line is to come to, and how far it may be off with all shares within tolerance."""
    weights = [part.aim_g for part in way.parts]
    targets = {}
    for place, part in enumerate(way.parts):
        more_g = part.kept_g - part.line.taken_g
        try:
            least, most = band_g(melt.lines, weights, place)
        except RuleError:
            # A full restoration is as near as the scale can show, tolerance or not.
            least = most = Fraction(weights[place])
        targets[part.line.pk] = Target(
            part.aim_g - more_g,
            ceil_to(least, MILLIGRAM_G) - more_g,
            floor_to(most, MILLIGRAM_G) - more_g,
        )
    return targets


def write(
    melt: KettleContents,
    kind: TargetChangeKind,
    targets: Mapping[int, Target],
    *,
    reason: str,
    by: User,
    at: datetime,
    token: str,
) -> list[TargetChange]:
    """Write down each target that changes; the plan itself stays readable."""
    lines = [row.line for row in melt.rows]
    changed = [line for line in lines if line.pk in targets and targets[line.pk].g != line.aim_g]
    if not changed:
        raise ActionRefused("That changes no target.")
    return [
        TargetChange.objects.create(
            line=line,
            kind=kind,
            was_g=line.aim_g,
            now_g=targets[line.pk].g,
            least_g=max(targets[line.pk].least_g, Decimal(0)),
            most_g=targets[line.pk].most_g,
            reason=reason.strip()[:300],
            at=at,
            by=by,
            token=token,
        )
        for line in changed
    ]


def said_of(changes: list[TargetChange]) -> str:
    """The new targets in words: 897.5 g of Olive oil (was 800 g)."""
    parts = [
        f"{with_unit(change.now_g, 'g')} {change.line.item} (was {with_unit(change.was_g, 'g')})"
        for change in changes
    ]
    return f"Targets now: {', '.join(parts)}."
