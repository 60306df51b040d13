"""Record what was looked at or measured during a batch."""

from datetime import datetime
from decimal import Decimal

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.formulas.models import Step
from workshop.kettle.models import Batch, Check, CheckKind
from workshop.kettle.services.batch_state import lock, undo_signature

# Nothing at a kettle is colder or hotter; a reading beyond this is a slip of the finger.
COLDEST_C, HOTTEST_C = Decimal(-30), Decimal(300)
LONGEST_MINUTES = Decimal(10000)


@transaction.atomic
def add_check(
    batch: Batch,
    kind: CheckKind,
    *,
    temperature_c: Decimal | None = None,
    minutes: Decimal | None = None,
    step: Step | None = None,
    note: str = "",
    by: User,
    at: datetime,
    token: str,
) -> Check:
    """Record a check; beyond the step's critical limits it needs a note."""
    check_idempotency(
        token,
        "check",
        batch=batch,
        kind=kind,
        temperature_c=temperature_c,
        minutes=minutes,
        step=step,
        note=note,
    )
    batch = lock(batch.pk)
    known = Check.objects.filter(token=token).first()
    if known:
        return known
    if batch.is_ended:
        raise ActionRefused(f"{batch} is closed. Only the owner can amend it.")
    if step and step.version_id != batch.version_id:
        raise ActionRefused("That step belongs to another formula.", field="step")
    _refuse_empty_check(kind, temperature_c, minutes, note)
    is_within = _is_within(kind, temperature_c, minutes, step)
    if not is_within and not note.strip():
        raise ActionRefused(
            "It is outside the limits of the step: say in the note what was done about it.",
            field="note",
        )
    made = Check.objects.create(
        batch=batch,
        step=step,
        kind=kind,
        temperature_c=temperature_c if kind == CheckKind.TEMPERATURE else None,
        minutes=minutes if kind == CheckKind.TIME else None,
        is_within=is_within,
        note=note.strip()[:300],
        at=at,
        by=by,
        token=token,
    )
    undo_signature(batch, f"a check added, {made.get_kind_display()}", by=by, at=at)
    return made


def _refuse_empty_check(
    kind: CheckKind, temperature_c: Decimal | None, minutes: Decimal | None, note: str
) -> None:
    if kind == CheckKind.TEMPERATURE:
        if temperature_c is None or not COLDEST_C <= temperature_c <= HOTTEST_C:
            raise ActionRefused(
                "Give the temperature in °C, from −30 to 300.", field="temperature_c"
            )
    elif kind == CheckKind.TIME:
        if minutes is None or not 0 <= minutes <= LONGEST_MINUTES:
            raise ActionRefused("Give the minutes it took, from 0 to 10 000.", field="minutes")
    elif kind != CheckKind.CLEAN and not note.strip():
        raise ActionRefused("Write down what you saw.", field="note")


def _is_within(
    kind: CheckKind, temperature_c: Decimal | None, minutes: Decimal | None, step: Step | None
) -> bool:
    if step is None:
        return True
    if kind == CheckKind.TEMPERATURE and temperature_c is not None:
        warm_enough = step.from_c is None or temperature_c >= step.from_c
        return warm_enough and (step.to_c is None or temperature_c <= step.to_c)
    if kind == CheckKind.TIME and minutes is not None:
        return step.minutes is None or minutes >= step.minutes
    return True
