"""What can happen to a complaint: logged, noted, assessed, reported, answered, closed."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from workshop.aftersales.models import (
    COMPLAINT_LETTER,
    Complaint,
    ComplaintEvent,
    ComplaintState,
    ComplaintStep,
)
from workshop.core.errors import ActionRefused
from workshop.core.files.uploads import CheckedFile, store_upload
from workshop.core.formatting import day as shown_day
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency, other_content
from workshop.core.saving.with_history import save_with_history
from workshop.ledger.models import Lot
from workshop.ledger.services import next_reference

MOST_PHOTOS = 10
LARGEST_TOGETHER_MB = 20  # a terminator lets 25 MB through at a time
# One name for all its acts: a token that logged something assesses nothing.
ACT = "complaint"


@transaction.atomic
def log(
    complaint: Complaint,
    *,
    lots: Sequence[Lot] = (),
    photos: Sequence[CheckedFile] = (),
    by: User,
    at: datetime,
    token: str,
) -> Complaint:
    """Write a complaint down; the same token again answers with the one already written.

    A product that was not named is taken from the one lot that was read.
    """
    check_idempotency(
        token,
        ACT,
        step=ComplaintStep.LOGGED,
        **_told(complaint),
        lots=lots,
        photos=_contents(photos),
    )
    known = Complaint.objects.filter(token=token).first()
    if known:
        return known
    today = timezone.localdate(at)
    if complaint.received_on > today:
        raise ActionRefused("That date is in the future.", field="received_on")
    _refuse_unmade(lots, complaint.received_on, field="received_on")
    if complaint.product is None and len(lots) == 1:
        complaint.product = lots[0].item
    complaint.token, complaint.reference = token, next_reference(COMPLAINT_LETTER, today)
    kept = save_with_history(complaint, by=by, at=at)
    kept.lots.set(lots)
    _keep_photos(kept, photos, by=by, at=at)
    _write(kept, ComplaintStep.LOGGED, _logged_words(kept, lots), by=by, at=at, token=token)
    return kept


def _told(complaint: Complaint) -> dict[str, Any]:
    """What the form said of a complaint that is not written down yet."""
    left_out = ("id", "token", "reference", "state")
    fields = [one for one in Complaint._meta.concrete_fields if one.name not in left_out]
    return {one.name: getattr(complaint, one.attname) for one in fields}


def _contents(photos: Iterable[CheckedFile]) -> list[bytes]:
    return [photo.content for photo in photos]


def _refuse_unmade(lots: Iterable[Lot], received_on: date, *, field: str) -> None:
    """Nobody complains of what is still to be made: the day is wrong, or the code was misread."""
    for lot in lots:
        if lot.made_on > received_on:
            raise ActionRefused(
                f"Lot {lot} was made on {shown_day(lot.made_on)}, after the complaint came on"
                f" {shown_day(received_on)}. Check the day and the code.",
                field=field,
            )


def _logged_words(complaint: Complaint, lots: Sequence[Lot]) -> str:
    words = f"By {complaint.get_channel_display()}, received {shown_day(complaint.received_on)}."
    if complaint.code_read:
        words += f" Read from the tin: {complaint.code_read}."
    return words + (f" Lot {_named(lots)}." if lots else " No lot known.")


def _named(lots: Iterable[Lot]) -> str:
    return ", ".join(sorted(str(lot) for lot in lots))


@transaction.atomic
def note(
    complaint: Complaint,
    words: str,
    *,
    photos: Sequence[CheckedFile] = (),
    by: User,
    at: datetime,
    token: str,
) -> ComplaintEvent:
    """Add what became known since, with photos; open to a closed complaint as well."""
    check_idempotency(
        token,
        ACT,
        step=ComplaintStep.NOTED,
        complaint=complaint,
        words=words,
        photos=_contents(photos),
    )
    locked = _locked(complaint, token, *ComplaintState)
    if locked is None:
        return _known(token)
    _keep_photos(locked, photos, by=by, at=at)
    return _write(locked, ComplaintStep.NOTED, words, by=by, at=at, token=token)


@transaction.atomic
def assess(
    complaint: Complaint,
    findings: str,
    *,
    severity: str,
    outcome: str,
    lots: Sequence[Lot],
    by: User,
    at: datetime,
    token: str,
) -> ComplaintEvent:
    """Judge a complaint, name the lots it is about; may be done again until it is closed."""
    check_idempotency(
        token,
        ACT,
        step=ComplaintStep.ASSESSED,
        complaint=complaint,
        findings=findings,
        severity=severity,
        outcome=outcome,
        lots=lots,
    )
    locked = _locked(
        complaint, token, ComplaintState.OPEN, ComplaintState.ASSESSED, ComplaintState.ANSWERED
    )
    if locked is None:
        return _known(token)
    _refuse_unmade(lots, locked.received_on, field="lots")
    locked.severity, locked.outcome = severity, outcome
    if locked.state == ComplaintState.OPEN:
        locked.state = ComplaintState.ASSESSED
    kept = save_with_history(locked, by=by, at=at)
    kept.lots.set(lots)
    said = [kept.get_severity_display(), kept.get_outcome_display() or "not serious"]
    about = f"lots {_named(lots)}" if lots else "no lot known"
    words = f"{findings.strip()} ({', '.join([*said, about])})" if findings.strip() else ""
    return _write(kept, ComplaintStep.ASSESSED, words, by=by, at=at, token=token, field="findings")


@transaction.atomic
def report(
    complaint: Complaint, words: str, *, reported_on: date, by: User, at: datetime, token: str
) -> ComplaintEvent:
    """Note that the authority was told of a serious adverse event, and when."""
    check_idempotency(
        token,
        ACT,
        step=ComplaintStep.REPORTED,
        complaint=complaint,
        words=words,
        reported_on=reported_on,
    )
    locked = _locked(complaint, token, *ComplaintState)
    if locked is None:
        return _known(token)
    if not locked.is_serious:
        raise ActionRefused("This is not marked as a serious event. Assess it first.")
    if reported_on > timezone.localdate(at):
        raise ActionRefused("That date is in the future.", field="reported_on")
    if reported_on < locked.received_on:
        raise ActionRefused(
            f"The report cannot be dated before {shown_day(locked.received_on)}, when it was"
            " received.",
            field="reported_on",
        )
    locked.reported_on = reported_on
    kept = save_with_history(locked, by=by, at=at)
    said = f"On {shown_day(reported_on)}. {words.strip()}"
    return _write(kept, ComplaintStep.REPORTED, said.strip(), by=by, at=at, token=token)


@transaction.atomic
def answer(
    complaint: Complaint, words: str, *, by: User, at: datetime, token: str
) -> ComplaintEvent:
    """Note what the person who complained was told."""
    check_idempotency(token, ACT, step=ComplaintStep.ANSWERED, complaint=complaint, words=words)
    locked = _locked(complaint, token, ComplaintState.ASSESSED, ComplaintState.ANSWERED)
    if locked is None:
        return _known(token)
    locked.state = ComplaintState.ANSWERED
    save_with_history(locked, by=by, at=at)
    return _write(locked, ComplaintStep.ANSWERED, words, by=by, at=at, token=token)


@transaction.atomic
def close(
    complaint: Complaint, cause: str, *, by: User, at: datetime, token: str
) -> ComplaintEvent:
    """Close an assessed complaint with its cause.

    A serious event must have been reported first. One that nobody can be answered about
    (no name, no address) is closed without an answer.
    """
    check_idempotency(token, ACT, step=ComplaintStep.CLOSED, complaint=complaint, cause=cause)
    locked = _locked(complaint, token, ComplaintState.ASSESSED, ComplaintState.ANSWERED)
    if locked is None:
        return _known(token)
    if not cause.strip():
        raise ActionRefused("Name the cause, or say that none was found.", field="cause")
    if locked.is_serious and locked.reported_on is None:
        raise ActionRefused("A serious event is reported to the authority before it is closed.")
    locked.state, locked.cause = ComplaintState.CLOSED, cause.strip()
    save_with_history(locked, by=by, at=at)
    return _write(locked, ComplaintStep.CLOSED, cause, by=by, at=at, token=token)


@transaction.atomic
def reopen(
    complaint: Complaint, reason: str, *, by: User, at: datetime, token: str
) -> ComplaintEvent:
    """Open a closed complaint again; the cause named so far stays readable in the log."""
    check_idempotency(token, ACT, step=ComplaintStep.REOPENED, complaint=complaint, reason=reason)
    locked = _locked(complaint, token, ComplaintState.CLOSED)
    if locked is None:
        return _known(token)
    locked.state, locked.cause = ComplaintState.ASSESSED, ""
    save_with_history(locked, by=by, at=at)
    return _write(locked, ComplaintStep.REOPENED, reason, by=by, at=at, token=token)


def _locked(complaint: Complaint, token: str, *states: ComplaintState) -> Complaint | None:
    """The complaint, safe from others, in one of these states; None if the act came before."""
    before = ComplaintEvent.objects.filter(token=token).first()
    if before and before.complaint_id != complaint.pk:
        raise other_content()
    if before:
        return None
    locked = Complaint.objects.select_for_update(of=("self",)).get(pk=complaint.pk)
    if locked.state not in states:
        raise ActionRefused(
            f"{locked} is {locked.get_state_display()}; this cannot be done to it now."
        )
    return locked


def _known(token: str) -> ComplaintEvent:
    return ComplaintEvent.objects.get(token=token)


def _write(
    complaint: Complaint,
    step: ComplaintStep,
    words: str,
    *,
    by: User,
    at: datetime,
    token: str,
    field: str = "words",
) -> ComplaintEvent:
    if not words.strip():
        raise ActionRefused("Say what was found, done or said.", field=field)
    return ComplaintEvent.objects.create(
        complaint=complaint, step=step, words=words.strip(), at=at, by=by, token=token
    )


def _keep_photos(
    complaint: Complaint, photos: Sequence[CheckedFile], *, by: User, at: datetime
) -> None:
    if complaint.photos.count() + len(photos) > MOST_PHOTOS:
        raise ActionRefused(f"A complaint holds at most {MOST_PHOTOS} photos.", field="photos")
    complaint.photos.add(*(store_upload(photo, by=by, at=at) for photo in photos))
