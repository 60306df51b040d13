"""Who took a reading and when, and how far what a device says of both is believed.

The device may send a reading long after it was taken, when somebody else has signed in on it: with
each goes a signed ticket of the person to whom the page was given.
"""

from datetime import UTC, datetime, timedelta
from typing import Any

from django import forms
from django.core import signing
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from workshop.core import formatting
from workshop.core.access import MAKERS
from workshop.core.errors import ActionRefused
from workshop.core.models import User

SALT = "workshop.kettle.ticket"
LASTS = timedelta(days=90)  # longer than any batch is under way


def ticket_for(person: User, reference: str) -> str:
    """A ticket for the readings that this person takes of this batch, from now on."""
    return signing.dumps([person.pk, reference], salt=SALT)


def attribution(ticket: str, *, reference: str, carrier: User, at: datetime) -> User:
    """Whom the ticket names; without one, from a page of before, whoever is signed in.

    Raises ActionRefused for a ticket that is not of this batch, or whose owner might not weigh
    then.
    """
    if not ticket:
        return carrier
    try:
        owner, batch = signing.loads(ticket, salt=SALT, max_age=LASTS)
    except signing.SignatureExpired as error:
        raise ActionRefused(
            "The page that took this reading was opened more than 90 days ago. Reload it, and "
            "record the reading again.",
            field="ticket",
        ) from error
    except signing.BadSignature as error:
        raise _strange() from error
    if batch != reference:
        raise _strange()
    return carrier if owner == carrier.pk else _maker(owner, at)


def _strange() -> ActionRefused:
    return ActionRefused(
        "We cannot verify who took this reading: it carries no valid ticket of this batch. "
        "Reload the page, and record it again.",
        field="ticket",
    )


def _maker(owner: int, at: datetime) -> User:
    person = User.objects.filter(pk=owner).first()
    if person is None:
        raise _strange()
    if not _may_weigh(person) and not _may_weigh(_as_of(person, at)):
        raise ActionRefused(
            f"{person} weighed this, but was not a maker then. Whoever answers for it records it "
            "again under their own name.",
            field="ticket",
        )
    return person


def _may_weigh(person: Any) -> bool:
    return bool(person and person.is_active and person.role in MAKERS)


def _as_of(person: User, at: datetime) -> Any:
    """The person as the book knew them when the reading was taken."""
    return person.history.filter(history_date__lte=at).first()


# ---- When ----------------------------------------------------------------------------------------

CLOCK_MAY_RUN_AHEAD = timedelta(minutes=2)
NO_TIME = "The time of the reading is not a time. Reload the page."


class MomentField(forms.CharField):
    """When a device took a reading; empty means now."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 40)
        kwargs.setdefault("required", False)
        kwargs.setdefault("widget", forms.HiddenInput)
        super().__init__(**kwargs)

    def clean(self, value: Any) -> datetime:
        now = timezone.now()
        text = super().clean(value)
        if not text:
            return now
        at = _read(text)
        if at > now + CLOCK_MAY_RUN_AHEAD:
            raise ValidationError(
                f"This device's clock says {formatting.moment(at)}, but it is"
                f" {formatting.moment(now)}. Set the clock, then send the reading again."
            )
        if at < now - LASTS:
            raise ValidationError(
                f"This device's clock says {formatting.moment(at)}; no reading waits longer than "
                f"{LASTS.days} days. Set the clock, then record the reading again."
            )
        return min(at, now)


def _read(text: str) -> datetime:
    """The moment, which every zone can also show: the first and last days of all cannot."""
    try:
        at = parse_datetime(text)
        if at is None or timezone.is_naive(at):
            raise ValidationError(NO_TIME)
        _ = (at - timedelta(days=1)).astimezone(UTC), (at + timedelta(days=1)).astimezone(UTC)
        return at.astimezone(UTC)
    except (ValueError, OverflowError) as error:
        raise ValidationError(NO_TIME) from error
