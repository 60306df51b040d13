"""A password asked for again is counted like one at the door, and shut out alike."""

from datetime import timedelta
from typing import Any

import pytest
from axes.models import AccessAttempt
from django.test import Client, RequestFactory, override_settings
from django.urls import reverse
from django.utils import timezone
from pytest_django.asserts import assertContains

from tests import make
from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.core.web.passwords import confirm_password

pytestmark = pytest.mark.django_db
RIGHT = "seven quiet kettles"
NEW = "grey heron over the marsh"
SHUT = "There were too many wrong passwords from this device. Nothing was done."


@pytest.fixture
def owner() -> User:
    return User.objects.create_user("odile", password=RIGHT, role=Role.OWNER, first_name="Odile")


@pytest.fixture
def door(client: Client, owner: User) -> Client:
    client.force_login(owner)
    return client


def confirm(user: User, password: str, address: str = "192.0.2.7") -> str:
    """What is said of a password from that address; nothing when it is right."""
    request = RequestFactory().post("/anywhere/", REMOTE_ADDR=address)
    try:
        confirm_password(user, password, request=request)
    except ActionRefused as error:
        return error.message
    return ""


def sign_in(password: str, name: str = "odile", address: str = "192.0.2.7") -> int:
    data = {"username": name, "password": password}
    return Client(REMOTE_ADDR=address).post(reverse("front:sign-in"), data).status_code


def test_right_password_is_taken_and_a_wrong_one_refused(owner: User) -> None:
    assert confirm(owner, RIGHT) == ""
    assert confirm(owner, "wrong") == "That is not your password. Nothing was done."


def test_fifth_wrong_password_shuts_out_even_the_right_one(owner: User) -> None:
    said = [confirm(owner, "wrong") for _ in range(5)]

    assert [sentence.startswith(SHUT) for sentence in said] == [False] * 4 + [True]
    assert confirm(owner, RIGHT).startswith(SHUT)


def test_wrong_passwords_at_the_door_and_behind_it_are_counted_together(owner: User) -> None:
    before = [sign_in("wrong") for _ in range(3)]
    said = [confirm(owner, "wrong") for _ in range(2)]

    assert before == [200, 200, 200]
    assert said[1].startswith(SHUT)
    assert sign_in(RIGHT) == 429
    assert sign_in(RIGHT, address="192.0.2.8") == 302


def test_right_password_begins_the_count_anew(owner: User) -> None:
    for _ in range(4):
        confirm(owner, "wrong")
    confirm(owner, RIGHT)

    said = [confirm(owner, "wrong") for _ in range(4)]

    assert SHUT not in "".join(said)


def test_quarter_of_an_hour_opens_again(owner: User) -> None:
    for _ in range(5):
        confirm(owner, "wrong")
    AccessAttempt.objects.update(attempt_time=timezone.now() - timedelta(minutes=16))

    assert confirm(owner, RIGHT) == ""


def test_password_of_somebody_else_is_not_ones_own(owner: User) -> None:
    other = User.objects.create_user("tamsin", password=NEW, role=Role.OWNER)

    assert confirm(owner, NEW) != ""
    assert confirm(other, NEW) == ""


def test_one_address_may_not_try_one_password_on_every_name(owner: User) -> None:
    with override_settings(WRONG_PASSWORDS_FROM_ONE_ADDRESS=6):
        answers = [sign_in("summer", name=f"name{number}") for number in range(6)]
        same, another = sign_in(RIGHT), sign_in(RIGHT, address="192.0.2.8")
        behind = confirm(owner, RIGHT)

    assert answers[:5] == [200] * 5
    assert (same, another) == (429, 302)
    assert behind.startswith(SHUT)


def test_count_keeps_nothing_of_what_was_typed(door: Client, owner: User) -> None:
    typed = {"old_password": "guess-one", "new_password1": NEW, "new_password2": NEW}
    door.post(reverse("front:account"), typed)
    door.post(
        reverse("core:password", args=[owner.pk]),
        {"present_password": "guess-two", "password": NEW, "password_again": NEW},
    )

    kept = str(list(AccessAttempt.objects.values()))

    assert AccessAttempt.objects.get().failures_since_start == 2
    assert not any(word in kept for word in ("guess-one", "guess-two", NEW))


# ---- one's own password --------------------------------------------------------------------------


def own(client: Client, owner: User, present: str) -> Any:
    data = {"present_password": present, "password": NEW, "password_again": NEW}
    return client.post(reverse("core:password", args=[owner.pk]), data, follow=True)


def test_owner_needs_the_present_password_for_a_new_one_of_their_own(
    door: Client, owner: User
) -> None:
    address = reverse("core:password", args=[owner.pk])

    without = door.post(address, {"password": NEW, "password_again": NEW})
    wrong = own(door, owner, "wrong")
    owner.refresh_from_db()
    kept = owner.check_password(RIGHT)
    right = own(door, owner, RIGHT)
    owner.refresh_from_db()

    assertContains(without, "This field is required.")
    assertContains(wrong, "That is not your password. Nothing was done.")
    assert kept
    assertContains(right, "Odile has a new password")
    assert owner.check_password(NEW)


def test_new_password_for_somebody_else_is_the_owners_act_and_noted(
    door: Client, owner: User
) -> None:
    maker = make.user(Role.MAKER)
    address = reverse("core:password", args=[maker.pk])

    page = door.get(address)
    door.post(address, {"password": NEW, "password_again": NEW})

    last = maker.history.first()
    assert 'name="present_password"' not in page.text
    assert last is not None
    assert (last.history_user, last.history_change_reason) == (owner, "A new password was set.")


@pytest.mark.parametrize(
    ("address", "field"), [("front:account", "old_password"), ("core:password", "present_password")]
)
def test_own_password_pages_count_wrong_tries_and_say_so(
    door: Client, owner: User, address: str, field: str
) -> None:
    where = reverse(address, args=[owner.pk] if address == "core:password" else [])
    new = {"password": NEW, "password_again": NEW, "new_password1": NEW, "new_password2": NEW}

    for _ in range(5):
        answer = door.post(where, {field: "wrong", **new})
    right = door.post(where, {field: RIGHT, **new})

    owner.refresh_from_db()
    assertContains(answer, SHUT)
    assertContains(right, SHUT)
    assert owner.check_password(RIGHT)
