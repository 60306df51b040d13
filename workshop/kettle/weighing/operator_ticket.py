"""Who weighed a reading: a signed ticket that the page gives the device with each reading.

The device may send a reading long after it was taken, when somebody else has signed in on it.
"""

from datetime import datetime, timedelta
from typing import Any

from django.core import signing

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
            "record the reading anew.",
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
        "Reload the page, and record it anew.",
        field="ticket",
    )


def _maker(owner: int, at: datetime) -> User:
    person = User.objects.filter(pk=owner).first()
    if person is None:
        raise _strange()
    if not _may_weigh(person) and not _may_weigh(_as_of(person, at)):
        raise ActionRefused(
            f"{person} weighed this, but was no maker then. Whoever answers for it records it "
            "anew under a name of their own.",
            field="ticket",
        )
    return person


def _may_weigh(person: Any) -> bool:
    return bool(person and person.is_active and person.role in MAKERS)


def _as_of(person: User, at: datetime) -> Any:
    """The person as the book knew them when the reading was taken."""
    return person.history.filter(history_date__lte=at).first()
