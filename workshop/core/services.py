"""What can happen to people and to the workshop's own details."""

from datetime import datetime

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import USUAL_DAYS_ON_THE_WAY, Role, User, Workshop
from workshop.core.saving.locks import advisory_lock
from workshop.core.saving.with_history import save_with_history


@transaction.atomic
def add_person(
    *,
    username: str,
    first_name: str,
    last_name: str,
    role: str,
    password: str,
    by: User,
    at: datetime,
) -> User:
    """Let somebody sign in, with a first password that the owner tells them."""
    _refuse_unless_owner(by)
    person = User(username=username, first_name=first_name, last_name=last_name, role=role)
    _give_password(person, password, field="password")
    return save_with_history(person, by=by, at=at)


@transaction.atomic
def change_person(
    person: User,
    *,
    username: str,
    first_name: str,
    last_name: str,
    role: str,
    is_active: bool,
    by: User,
    at: datetime,
) -> User:
    """Change a person's name, role, or whether they may sign in at all.

    Raises ActionRefused, and writes nothing, if no active owner would be left.
    """
    _refuse_unless_owner(by)
    advisory_lock("owners")
    changed = User.objects.select_for_update().get(pk=person.pk)
    changed.username, changed.first_name, changed.last_name = username, first_name, last_name
    changed.role, changed.is_active = role, is_active
    others = User.objects.filter(role=Role.OWNER, is_active=True).exclude(pk=person.pk)
    if not others.exists():
        _refuse_losing_the_owner(changed)
    return save_with_history(changed, by=by, at=at)


def _refuse_losing_the_owner(person: User) -> None:
    if not person.is_active:
        raise ActionRefused("The last owner must stay able to sign in.", field="is_active")
    if person.role != Role.OWNER:
        raise ActionRefused(
            "This is the last owner. Make somebody else an owner first.", field="role"
        )


@transaction.atomic
def set_password(person: User, password: str, *, by: User, at: datetime) -> User:
    """Give a person a new password; wherever they are signed in, they must sign in again."""
    _refuse_unless_owner(by)
    locked = User.objects.select_for_update().get(pk=person.pk)
    _give_password(locked, password, field="password")
    locked._change_reason = "A new password was set."  # type: ignore[attr-defined]  # simple_history
    return save_with_history(locked, by=by, at=at)


def _give_password(person: User, password: str, *, field: str) -> None:
    try:
        validate_password(password, person)
    except ValidationError as error:
        raise ActionRefused(" ".join(error.messages), field=field) from error
    person.set_password(password)


@transaction.atomic
def save_workshop(
    *,
    name: str,
    address: str,
    contact: str,
    certified_by: str,
    market: str,
    gs1_prefix: str = "",
    days_on_the_way: int = USUAL_DAYS_ON_THE_WAY,
    by: User,
    at: datetime,
) -> Workshop:
    """Save the name and address that labels and records print, and how long parcels travel."""
    _refuse_unless_owner(by)
    workshop = Workshop.objects.filter(pk=1).first() or Workshop(pk=1)
    workshop.name, workshop.address, workshop.contact = name, address, contact
    workshop.certified_by, workshop.market = certified_by, market
    workshop.gs1_prefix, workshop.days_on_the_way = gs1_prefix, days_on_the_way
    return save_with_history(workshop, by=by, at=at)


def _refuse_unless_owner(by: User) -> None:
    if by.role != Role.OWNER:
        raise ActionRefused("Only an owner may change the set-up.")
