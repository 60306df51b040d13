"""Accept a week: its batches are planned at the kettle, their lots reserved, its runs noted."""

from datetime import date, datetime
from hashlib import sha256

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.core.saving.locks import advisory_lock
from workshop.kettle.services import plan_batch
from workshop.planning.models import AcceptedWeek, PlannedBatch, PlannedRun, Reservation
from workshop.planning.week.jobs import BatchJob, Changes, RunJob
from workshop.planning.week.planner import propose
from workshop.planning.week.proposal import Row

LONGEST = 300


@transaction.atomic
def accept_week(
    *,
    monday: date,
    today: date,
    changes: Changes,
    mark: str,
    by: User,
    at: datetime,
    token: str,
) -> AcceptedWeek:
    """Plan the week's batches, reserve their lots and note its packing runs.

    `mark` names the proposal that was looked at. Raises ActionRefused where the book would propose
    another one by now, where there is nothing in it, and what the kettle refuses.
    """
    if check_idempotency(token, "week", monday=monday, mark=mark):
        return AcceptedWeek.objects.get(token=token)
    advisory_lock("a week is accepted")
    proposal = propose(monday=monday, today=today, changes=changes)
    if proposal.mark != mark:
        raise ActionRefused(
            "Stock, orders or plans have changed since this page was opened. Here is the week as "
            "it comes out now: look at it, then accept it."
        )
    if not proposal.rows:
        raise ActionRefused("There is nothing in this week to accept.")
    week = AcceptedWeek.objects.create(monday=monday, by=by, at=at, token=token)
    for row in proposal.rows:
        if isinstance(row.job, BatchJob):
            _plan(week, row, row.job, by=by, at=at)
        else:
            _note(week, row, row.job)
    return week


def _plan(week: AcceptedWeek, row: Row, job: BatchJob, *, by: User, at: datetime) -> None:
    assert row.kettle is not None  # noqa: S101 -- a batch always has a kettle
    batch = plan_batch(
        job.making.version,
        kettle=row.kettle,
        scale=job.making.scale,
        target_g=job.grams,
        by=by,
        at=at,
        token=sha256(f"{week.token}:{row.key}".encode()).hexdigest(),
    )
    planned = PlannedBatch.objects.create(
        week=week, batch=batch, day=row.day, why=" ".join(row.why)[:LONGEST]
    )
    Reservation.objects.bulk_create(
        Reservation(planned=planned, lot=lot, quantity=amount) for lot, amount in row.draws
    )


def _note(week: AcceptedWeek, row: Row, job: RunJob) -> None:
    PlannedRun.objects.create(
        week=week,
        item=row.item,
        day=row.day,
        units=job.units,
        why=" ".join(row.why)[:LONGEST],
    )
