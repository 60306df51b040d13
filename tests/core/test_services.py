"""People, roles, passwords and the workshop's own details."""

from typing import Any

import pytest
from django.db import IntegrityError, transaction

from tests import make
from workshop.core import services
from workshop.core.errors import ActionRefused
from workshop.core.markets import (
    Market,
)
from workshop.core.models import (
    Role,
    User,
    Workshop,
)

pytestmark = pytest.mark.django_db

GOOD = "grey heron over the marsh"


def refusal(act: Any, *args: Any, **values: Any) -> ActionRefused:
    with pytest.raises(ActionRefused) as caught:
        act(*args, at=make.NOON, **values)
    return caught.value


def added(**values: Any) -> User:
    given = {
        "username": "tamsin",
        "first_name": "Tamsin",
        "last_name": "Roe",
        "role": Role.MAKER,
        "password": GOOD,
        **values,
    }
    by = given.pop("by", None) or make.user()
    return services.add_person(at=make.NOON, by=by, **given)


def changes(person: User, **values: Any) -> dict[str, Any]:
    names = ("username", "first_name", "last_name", "role", "is_active")
    return {name: getattr(person, name) for name in names} | values


def test_person_added_may_sign_in_with_the_first_password() -> None:
    owner = make.user()

    person = added(by=owner)

    assert person.check_password(GOOD)
    assert (str(person), person.role, person.is_superuser) == ("Tamsin Roe", Role.MAKER, False)
    assert person.history.get().history_user == owner


@pytest.mark.parametrize(
    ("password", "sentence"),
    [
        ("short1x", "This password is too short. It must contain at least 8 characters."),
        ("83650271946", "This password is entirely numeric."),
        ("password123", "This password is too common."),
        ("tamsin12", "The password is too similar to the username."),
    ],
)
def test_person_with_a_weak_password_is_not_added(password: str, sentence: str) -> None:
    owner = make.user()

    with pytest.raises(ActionRefused) as caught:
        added(password=password, by=owner)

    assert (caught.value.message, caught.value.field) == (sentence, "password")
    assert User.objects.count() == 1


def test_person_with_a_name_that_is_taken_is_not_added() -> None:
    added()

    with pytest.raises(ActionRefused) as caught:
        added()

    assert caught.value.field == "username"


def test_person_changes_role_and_keeps_the_password() -> None:
    owner, person = make.user(), added()

    services.change_person(person, **changes(person, role=Role.PACKER), by=owner, at=make.NOON)

    person.refresh_from_db()
    assert (person.role, person.check_password(GOOD)) == (Role.PACKER, True)


@pytest.mark.parametrize(
    ("change", "field", "sentence"),
    [
        (
            {"role": Role.MAKER},
            "role",
            "This is the last owner. Make somebody else an owner first.",
        ),
        ({"is_active": False}, "is_active", "The last owner must stay able to sign in."),
    ],
)
def test_last_owner_stays_an_owner(change: dict[str, Any], field: str, sentence: str) -> None:
    owner = make.user()
    make.user(is_active=False)

    error = refusal(services.change_person, owner, **changes(owner, **change), by=owner)

    owner.refresh_from_db()
    assert (error.message, error.field) == (sentence, field)
    assert (owner.role, owner.is_active) == (Role.OWNER, True)


def test_owner_who_is_not_the_last_may_step_down() -> None:
    first, second = make.user(), make.user()

    services.change_person(
        first, **changes(first, role=Role.MAKER, is_active=False), by=second, at=make.NOON
    )

    first.refresh_from_db()
    assert (first.role, first.is_active) == (Role.MAKER, False)


def test_unknown_role_is_refused() -> None:
    owner, person = make.user(), added()

    error = refusal(services.change_person, person, **changes(person, role="king"), by=owner)

    assert error.field == "role"


def test_new_password_takes_the_place_of_the_old_one() -> None:
    person = added()

    services.set_password(person, "a quiet kettle sings", by=make.user(), at=make.NOON)

    person.refresh_from_db()
    assert (person.check_password(GOOD), person.check_password("a quiet kettle sings")) == (
        False,
        True,
    )
    assert person.history.latest().history_change_reason == "A new password was set."


@pytest.mark.parametrize("role", [Role.MAKER, Role.PACKER, Role.INSPECTOR])
def test_set_up_is_the_owners(role: Role) -> None:
    person, other = make.user(role), added()
    sentence = "Only an owner may change the set-up."

    shut = [
        refusal(services.set_password, other, GOOD, by=person),
        refusal(services.change_person, other, **changes(other), by=person),
        refusal(
            services.save_workshop,
            name="W",
            address="A",
            contact="",
            certified_by="",
            market="US",
            by=person,
        ),
    ]

    assert [error.message for error in shut] == [sentence] * 3


def details(**values: Any) -> Workshop:
    given = {
        "name": "Wren Hollow Works",
        "address": "4 Quay Lane\nPort Ellery",
        "contact": "hello@example.com",
        "certified_by": "",
        "market": Market.US,
        **values,
    }
    return services.save_workshop(**given, by=make.user(), at=make.NOON)


def test_workshop_is_one_and_only() -> None:
    details()
    details(name="Wren Hollow")

    assert [(row.pk, row.name) for row in Workshop.objects.all()] == [(1, "Wren Hollow")]


def test_workshop_of_an_unknown_market_is_refused() -> None:
    with pytest.raises(ActionRefused) as caught:
        details(market="MOON")

    assert (caught.value.field, Workshop.objects.exists()) == ("market", False)


def test_workshop_keeps_a_company_prefix_that_gs1_could_give() -> None:
    details(gs1_prefix="9521234")

    assert Workshop.objects.get().gs1_prefix == "9521234"
    with pytest.raises(IntegrityError), transaction.atomic():
        Workshop.objects.update(gs1_prefix="952")
