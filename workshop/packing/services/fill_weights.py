"""Weighing packs to control the fill: weights are entered, and corrected by another row.

Once a run is closed and sealed, only an owner adds to them, and it is sealed again.
"""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.db.models import Max

from workshop.core.errors import ActionRefused
from workshop.core.formatting import with_unit
from workshop.core.models import Role, User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.kettle.models import Scale
from workshop.ledger.models import Lot, Status
from workshop.packing.models import FillSample, PackingRun, Reading
from workshop.packing.services.reseal import open_again, seal_again
from workshop.packing.services.run_lock import locked_run
from workshop.rules.quantities.units import MOST_G

MOST_AT_ONCE = 60
MOST_IN_ALL = 500
# Contents outside these shares of the fill are asked about: a slipped digit, most likely.
LEAST_USUAL, MOST_USUAL = Decimal("0.8"), Decimal("1.25")


@transaction.atomic
def weigh(
    run: PackingRun,
    kind: str,
    weights: Sequence[Decimal],
    *,
    by: User,
    at: datetime,
    token: str,
    scale: Scale | None = None,
    confirmed: bool = False,
    reason: str = "",
) -> list[FillSample]:
    """Record weights in the order taken, all of one kind; all of them, or none.

    The same token again answers with what it recorded. Raises ActionRefused for a run that was
    stopped or whose lot is settled, for a weight that looks like a slip unless `confirmed`, and
    for a closed run unless an owner gives a `reason`.
    """
    check_idempotency(token, "weights", run=run, kind=kind, weights=weights, scale=scale)
    run = locked_run(run)
    known = list(FillSample.objects.filter(token__startswith=f"{token}:").order_by("pk"))
    if known:
        return known
    refuse_settled(run)
    if not 0 < len(weights) <= MOST_AT_ONCE:
        raise ActionRefused(f"Enter from 1 to {MOST_AT_ONCE} weights.", field="weights")
    last = run.samples.aggregate(last=Max("place", default=0))["last"]
    if last + len(weights) > MOST_IN_ALL:
        raise ActionRefused(f"A run takes at most {MOST_IN_ALL} weights.", field="weights")
    validate_weights(run, kind, weights, confirmed=confirmed)
    if run.operation.is_closed:
        open_again(run, by=by, at=at, reason=reason)
    rows = FillSample.objects.bulk_create(
        FillSample(
            run=run,
            place=last + number,
            kind=kind,
            grams=grams,
            scale=scale,
            at=at,
            by=by,
            token=f"{token}:{number}",
        )
        for number, grams in enumerate(weights, start=1)
    )
    if run.operation.is_closed:
        seal_again(run, by=by, at=at)
    return rows


def may_weigh(run: PackingRun, lot: Lot | None, person: User) -> bool:
    """Whether this person may weigh more; `lot` is what the run put out, if anything."""
    if lot is None:
        return run.is_under_way and person.role != Role.INSPECTOR
    return person.role == Role.OWNER and lot.status not in (Status.RELEASED, Status.REJECTED)


def refuse_settled(run: PackingRun) -> None:
    lot = run.operation.lots.first()
    if lot is None and run.operation.is_closed:
        raise ActionRefused(f"{run} was stopped; nothing more is weighed for it.")
    if lot and lot.status in (Status.RELEASED, Status.REJECTED):
        raise ActionRefused(
            f"Lot {lot} is {lot.get_status_display()}, so its fill check is over. "
            "An owner can hold the lot first."
        )


def validate_weights(
    run: PackingRun, kind: str, weights: Sequence[Decimal], *, confirmed: bool
) -> None:
    for grams in weights:
        if not 0 < grams <= MOST_G:
            raise ActionRefused(
                "A weight is above zero, and not beyond ten tonnes.", field="weights"
            )
    if kind == Reading.EMPTY or confirmed:
        return
    fill_g = run.product.fill_g
    tare_g = _tare_g(run) if kind == Reading.FULL else Decimal(0)
    for grams in weights:
        too_light = grams - (tare_g or 0) < fill_g * LEAST_USUAL
        too_heavy = tare_g is not None and grams - tare_g > fill_g * MOST_USUAL
        if too_light or too_heavy:
            raise ActionRefused(
                f"{with_unit(grams, 'g')} is far from a fill of {with_unit(fill_g, 'g')}: "
                "correct it, or tick that it is right.",
                field="confirmed",
            )


def _tare_g(run: PackingRun) -> Decimal | None:
    empties = [one.grams for one in run.samples.effective() if one.kind == Reading.EMPTY]
    return sum(empties, Decimal(0)) / len(empties) if empties else None


@transaction.atomic
def correct(
    sample: FillSample,
    grams: Decimal | None,
    *,
    by: User,
    at: datetime,
    token: str,
    reason: str,
) -> FillSample:
    """Put another weight in the place of one that was entered wrongly, or strike it out (None).

    The first weight stays on record with the reason. Raises ActionRefused without a reason, for a
    weight that was corrected already, once the lot is settled, and for a closed run unless an
    owner does it.
    """
    # Not the sample itself: sent again, the form finds the corrected one in its place.
    content = {"place": sample.place, "grams": grams, "reason": reason}
    check_idempotency(token, "corrected weight", run=sample.run, **content)
    run = locked_run(sample.run)
    known = FillSample.objects.filter(token=token).first()
    if known:
        return known
    refuse_settled(run)
    if not reason.strip():
        raise ActionRefused("Say why the weight is corrected.", field="reason")
    if FillSample.objects.filter(corrects=sample).exists() or sample.grams is None:
        raise ActionRefused("This weight was corrected already.")
    if grams is not None:
        validate_weights(run, Reading.EMPTY, [grams], confirmed=False)
    if run.operation.is_closed:
        open_again(run, by=by, at=at, reason=reason)
    corrected = FillSample.objects.create(
        run=run,
        place=sample.place,
        kind=sample.kind,
        grams=grams,
        scale=sample.scale,
        at=at,
        by=by,
        token=token,
        corrects=sample,
        reason=reason.strip(),
    )
    if run.operation.is_closed:
        seal_again(run, by=by, at=at)
    return corrected
