"""A dispatch arrived: somebody heard so, or took the word back."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, datetime

from django.db import transaction
from django.db.models import Min
from django.utils import timezone

from workshop.core.errors import ActionRefused
from workshop.core.formatting import day
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.dispatch.models import ConfirmationReversal, DeliveryConfirmation, Dispatch


@transaction.atomic
def confirm_delivery(
    dispatches: Iterable[Dispatch],
    *,
    arrived_on: date,
    by: User,
    at: datetime,
    note: str = "",
    token: str = "",
) -> list[DeliveryConfirmation]:
    """Keep the word that these arrived on that day: all of them, or none.

    The first word stands: a dispatch that is known to have arrived is left out of the answer, and
    so is one of which the same form brought word before, even if that was taken back.
    Raises ActionRefused for a day still to come, before it was sent, or after units came back.
    """
    wanted = sorted(dispatch.pk for dispatch in dispatches)
    check_idempotency(token or None, "arrival", dispatches=wanted, arrived_on=arrived_on, note=note)
    if arrived_on > timezone.localdate(at):
        raise ActionRefused("That date is in the future.", field="arrived_on")
    # Locked first and looked at afterwards, so that two people cannot both bring the word.
    locked = Dispatch.objects.select_for_update(of=("self",)).filter(pk__in=wanted).order_by("pk")
    found = list(locked.select_related("operation"))
    words = _words_of(found)
    fresh = [one for one in found if not _is_known(words[one.pk], token)]
    came_back = dict(
        Dispatch.objects.filter(pk__in=[dispatch.pk for dispatch in fresh])
        .annotate(back_on=Min("returns__returned_on"))
        .values_list("pk", "back_on")
    )
    for dispatch in fresh:
        _validate_day(dispatch, arrived_on, came_back.get(dispatch.pk))
    return [
        DeliveryConfirmation.objects.create(
            dispatch=dispatch,
            sequence=len(words[dispatch.pk]),
            arrived_on=arrived_on,
            note=note.strip(),
            by=by,
            at=at,
            token=token,
        )
        for dispatch in fresh
    ]


@transaction.atomic
def reverse_confirmation(
    arrival: DeliveryConfirmation, *, by: User, at: datetime, reason: str
) -> ConfirmationReversal | None:
    """The word was a mistake: it stays to be read and counts no more; a fresh one may come.

    None if it was taken back before: that reason stands. Raises ActionRefused without a reason.
    """
    if not reason.strip():
        raise ActionRefused("Say why it is taken back.", field="reason")
    # Whoever brings or takes back a word of this dispatch waits here for the other.
    Dispatch.objects.select_for_update().get(pk=arrival.dispatch_id)
    if ConfirmationReversal.objects.filter(arrival=arrival).exists():
        return None
    return ConfirmationReversal.objects.create(arrival=arrival, reason=reason.strip(), by=by, at=at)


def _words_of(dispatches: list[Dispatch]) -> dict[int, list[DeliveryConfirmation]]:
    words: dict[int, list[DeliveryConfirmation]] = defaultdict(list)
    for word in DeliveryConfirmation.objects.filter(dispatch__in=dispatches).select_related(
        "taken_back"
    ):
        words[word.dispatch_id].append(word)
    return words


def _is_known(words: list[DeliveryConfirmation], token: str) -> bool:
    return any(word.stands or (token and word.token == token) for word in words)


def _validate_day(dispatch: Dispatch, arrived_on: date, back_on: date | None) -> None:
    if dispatch.taken_back_id:
        raise ActionRefused(f"{dispatch} was taken back: it never left.")
    if arrived_on < dispatch.sent_on:
        raise ActionRefused(
            f"{dispatch} was sent on {day(dispatch.sent_on)}, so it arrived later than this.",
            field="arrived_on",
        )
    if back_on and arrived_on > back_on:
        raise ActionRefused(
            f"Units of {dispatch} came back on {day(back_on)}, so it had arrived by then.",
            field="arrived_on",
        )
