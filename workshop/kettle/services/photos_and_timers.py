"""Keep what goes with a batch: photos, and timers that survive a reload."""

from datetime import datetime, timedelta
from decimal import Decimal

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.files.uploads import CheckedFile, store_upload
from workshop.core.formatting import moment
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.core.saving.new_tokens import derive_key
from workshop.formulas.models import Step
from workshop.kettle.models import Batch, CheckKind, Photo, Timer
from workshop.kettle.services.batch_state import lock
from workshop.kettle.services.in_process_checks import LONGEST_MINUTES, add_check
from workshop.rules.quantities.units import floor_to

MOST_PHOTOS = 30
PICTURES = ("image/jpeg", "image/png")
MINUTE = timedelta(minutes=1)


@transaction.atomic
def add_photo(
    batch: Batch,
    photo: CheckedFile,
    *,
    shows: str,
    step: Step | None = None,
    by: User,
    at: datetime,
    token: str,
) -> Photo:
    """Keep one picture with what it shows; the same token again keeps it once."""
    check_idempotency(token, "photo", batch=batch, photo=photo.content, shows=shows, step=step)
    batch = lock(batch.pk)
    known = Photo.objects.filter(token=token).first()
    if known:
        return known
    _refuse_closed(batch)
    if photo.content_type not in PICTURES:
        raise ActionRefused("A photo is a JPEG or a PNG picture.", field="photo")
    if not shows.strip():
        raise ActionRefused("Say what the photo shows.", field="shows")
    if step and step.version_id != batch.version_id:
        raise ActionRefused("That step belongs to another formula.", field="step")
    if batch.photos.count() >= MOST_PHOTOS:
        raise ActionRefused(f"A batch keeps at most {MOST_PHOTOS} photos.", field="photo")
    upload = store_upload(photo, by=by, at=at)
    return Photo.objects.create(
        batch=batch, step=step, upload=upload, shows=shows.strip()[:200], token=token
    )


@transaction.atomic
def start_timer(
    batch: Batch,
    *,
    name: str,
    minutes: int,
    step: Step | None = None,
    by: User,
    at: datetime,
    token: str,
) -> Timer:
    """Start a timer, for a step or a name of its own; one runs at a time for one step."""
    check_idempotency(token, "timer", batch=batch, name=name, minutes=minutes, step=step)
    batch = lock(batch.pk)
    known = Timer.objects.filter(token=token).first()
    if known:
        return known
    _refuse_closed(batch)
    if not 0 < minutes <= LONGEST_MINUTES:
        raise ActionRefused("Give the minutes, from 1 to 10 000.", field="minutes")
    if step and step.version_id != batch.version_id:
        raise ActionRefused("That step belongs to another formula.", field="step")
    running = batch.timers.running().filter(step=step).first() if step else None
    if running:
        raise ActionRefused(
            f"The timer of this step has been running since {moment(running.started_at)}."
            " End it first."
        )
    return Timer.objects.create(
        batch=batch,
        step=step,
        name=name.strip()[:80] or "timer",
        minutes=minutes,
        started_at=at,
        started_by=by,
        token=token,
    )


@transaction.atomic
def end_timer(timer: Timer, *, note: str, by: User, at: datetime, token: str) -> Timer:
    """End a timer; the minutes it ran are recorded as a check of its step."""
    check_idempotency(token, "timer ended", timer=timer, note=note)
    batch = lock(timer.batch_id)
    timer = Timer.objects.select_related("step").get(pk=timer.pk)
    if timer.ended_at:
        return timer
    minutes = floor_to(Decimal((at - timer.started_at) // (MINUTE / 10)) / 10, Decimal("0.1"))
    add_check(
        batch,
        CheckKind.TIME,
        minutes=min(minutes, LONGEST_MINUTES),
        step=timer.step,
        note=": ".join(part for part in (timer.name if not timer.step else "", note) if part),
        by=by,
        at=at,
        token=derive_key(token, 0),
    )
    timer.ended_at = at
    timer.save(update_fields=["ended_at"])
    return timer


def _refuse_closed(batch: Batch) -> None:
    if batch.is_ended:
        raise ActionRefused(f"{batch} is closed. Only the owner can amend it.")
