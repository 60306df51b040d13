"""A short pour: every pack is topped up, and the packs that were weighed are weighed again."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.formatting import with_unit
from workshop.core.models import User
from workshop.packing.models import TOPPED_UP, FillSample, PackingRun, Reading
from workshop.packing.services.fill_weights import refuse_settled, validate_weights
from workshop.packing.services.reseal import open_again, seal_again
from workshop.packing.services.run_lock import locked_run


def packs_of(run: PackingRun) -> list[FillSample]:
    """The packs that were weighed and count, in pouring order."""
    return [one for one in run.samples.effective() if one.kind != Reading.EMPTY]


@transaction.atomic
def top_up(
    run: PackingRun, weights: Sequence[Decimal], *, by: User, at: datetime, token: str, note: str
) -> list[FillSample]:
    """Record what each weighed pack holds once every pack of the lot was topped up.

    `weights` has one for each pack weighed before, in the same order; the first figures stay on
    record. The same token again answers with what it recorded. Raises ActionRefused for another
    number of weights, a pack that became lighter, and as `sampling.correct` does.
    """
    run = locked_run(run)
    known = list(FillSample.objects.filter(token__startswith=f"{token}:").order_by("pk"))
    if known:
        return _same(run, known)
    refuse_settled(run)
    changed = _changed(run, weights)
    reason = f"{TOPPED_UP}, every pack of the lot: {note.strip()}".rstrip(": ")[:300]
    if run.operation.is_closed:
        open_again(run, by=by, at=at, reason=reason)
    rows = [
        FillSample.objects.create(
            run=run,
            place=before.place,
            kind=before.kind,
            grams=grams,
            scale=before.scale,
            at=at,
            by=by,
            token=f"{token}:{before.place}",
            corrects=before,
            reason=reason,
        )
        for before, grams in changed
    ]
    if run.operation.is_closed:
        seal_again(run, by=by, at=at)
    return rows


def _same(run: PackingRun, known: list[FillSample]) -> list[FillSample]:
    if known[0].run_id != run.pk:
        raise ActionRefused("This form was already used for something else. Reload the page.")
    return known


def _changed(run: PackingRun, weights: Sequence[Decimal]) -> list[tuple[FillSample, Decimal]]:
    packs = packs_of(run)
    if len(weights) != len(packs):
        raise ActionRefused(
            f"{len(packs)} packs were weighed before: weigh each of them again, in the same "
            f"order. {len(weights)} weights were entered.",
            field="weights",
        )
    for number, (before, grams) in enumerate(zip(packs, weights, strict=True), start=1):
        _refuse_lighter(number, before, grams)
        validate_weights(run, before.kind, [grams], confirmed=grams == before.grams)
    changed = [(one, g) for one, g in zip(packs, weights, strict=True) if g != one.grams]
    if not changed:
        raise ActionRefused("No weight is another one than before.", field="weights")
    return changed


def _refuse_lighter(number: int, before: FillSample, grams: Decimal) -> None:
    if before.grams is not None and grams < before.grams:
        raise ActionRefused(
            f"Pack {number} weighed {with_unit(before.grams, 'g')} before and "
            f"{with_unit(grams, 'g')} now: topping up makes none lighter.",
            field="weights",
        )
