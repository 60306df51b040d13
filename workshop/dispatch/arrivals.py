"""A dispatch arrived: somebody heard so."""

from collections.abc import Iterable
from datetime import date, datetime

from django.db import transaction
from django.db.models import Min
from django.utils import timezone

from workshop.core.errors import Refused
from workshop.core.models import User
from workshop.core.shown import day
from workshop.dispatch.models import Arrival, Dispatch


@transaction.atomic
def arrive(
    dispatches: Iterable[Dispatch], *, arrived_on: date, by: User, at: datetime, note: str = ""
) -> list[Arrival]:
    """Keep the word that these arrived on that day: all of them, or none.

    The first word stands: a dispatch that is known to have arrived is left out of the answer.
    Raises Refused for a day still to come, before it was sent, or after units came back.
    """
    if arrived_on > timezone.localdate(at):
        raise Refused("This day is still to come.", field="arrived_on")
    wanted = [dispatch.pk for dispatch in dispatches]
    # Locked first and looked at afterwards, so that two people cannot both bring the word.
    locked = Dispatch.objects.select_for_update(of=("self",)).filter(pk__in=wanted).order_by("pk")
    found = list(locked.select_related("operation"))
    known = set(Arrival.objects.filter(dispatch__in=found).values_list("dispatch", flat=True))
    fresh = [dispatch for dispatch in found if dispatch.pk not in known]
    came_back = dict(
        Dispatch.objects.filter(pk__in=[dispatch.pk for dispatch in fresh])
        .annotate(back_on=Min("returns__returned_on"))
        .values_list("pk", "back_on")
    )
    for dispatch in fresh:
        _refuse_odd_day(dispatch, arrived_on, came_back.get(dispatch.pk))
    return [
        Arrival.objects.create(
            dispatch=dispatch, arrived_on=arrived_on, note=note.strip(), by=by, at=at
        )
        for dispatch in fresh
    ]


def _refuse_odd_day(dispatch: Dispatch, arrived_on: date, back_on: date | None) -> None:
    if arrived_on < dispatch.sent_on:
        raise Refused(
            f"{dispatch} was sent on {day(dispatch.sent_on)}, so it arrived later than this.",
            field="arrived_on",
        )
    if back_on and arrived_on > back_on:
        raise Refused(
            f"Units of {dispatch} came back on {day(back_on)}, so it had arrived by then.",
            field="arrived_on",
        )
