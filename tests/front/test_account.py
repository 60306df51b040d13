"""Signing in and out, one's own password, and the health page."""

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django.asserts import assertContains, assertRedirects, assertTemplateUsed

from tests import make
from workshop.core.models import Role, User

pytestmark = pytest.mark.django_db
PASSWORD = "kettle-over-blue-flame"


def person(role: Role = Role.OWNER) -> User:
    one = make.user(role)
    one.set_password(PASSWORD)
    one.save()
    return one


def sign_in(client: Client, username: str, password: str) -> int:
    answer = client.post(reverse("front:sign-in"), {"username": username, "password": password})
    return answer.status_code


def test_sign_in_leads_to_today(client: Client) -> None:
    one = person()

    answer = client.post(reverse("front:sign-in"), {"username": one.username, "password": PASSWORD})

    # Today of an empty book leads on to its first steps.
    assertRedirects(answer, reverse("front:today"), fetch_redirect_response=False)


def test_sign_in_explains_a_wrong_password_and_keeps_the_name(client: Client) -> None:
    one = person()

    answer = client.post(reverse("front:sign-in"), {"username": one.username, "password": "no"})

    assertContains(answer, "Name or password is wrong.")
    assertContains(answer, f'value="{one.username}"')


def test_sign_in_makes_one_wait_after_five_wrong_passwords(client: Client) -> None:
    one = person()

    codes = [sign_in(client, one.username, "wrong") for _ in range(5)]

    assert codes == [200, 200, 200, 200, 429]
    answer = client.post(reverse("front:sign-in"), {"username": one.username, "password": PASSWORD})
    assertContains(answer, "Try again in a quarter of an hour.", status_code=429)
    assertTemplateUsed(answer, "front/locked_out.html")


def test_pages_ask_a_stranger_to_sign_in(client: Client) -> None:
    answer = client.get(reverse("front:today"))

    assertRedirects(answer, reverse("front:sign-in") + "?next=/")


def test_sign_out_needs_a_sent_form(client: Client) -> None:
    client.force_login(person())

    assert client.get(reverse("front:sign-out")).status_code == 405
    assertRedirects(client.post(reverse("front:sign-out")), reverse("front:sign-in"))
    assert "_auth_user_id" not in client.session


@pytest.mark.parametrize("role", Role.values)
def test_account_changes_ones_own_password_in_any_role(client: Client, role: Role) -> None:
    one = person(role)
    client.force_login(one)

    answer = client.post(
        reverse("front:account"),
        {
            "old_password": PASSWORD,
            "new_password1": "wax-and-a-wooden-spoon",
            "new_password2": "wax-and-a-wooden-spoon",
        },
        follow=True,
    )

    assertContains(answer, "Your password is changed.")
    one.refresh_from_db()
    assert one.check_password("wax-and-a-wooden-spoon")


def test_account_refuses_a_wrong_present_password(client: Client) -> None:
    one = person()
    client.force_login(one)

    answer = client.post(
        reverse("front:account"),
        {"old_password": "x", "new_password1": "abcdefgh12", "new_password2": "abcdefgh13"},
    )

    assertContains(answer, "That is not your password. Nothing was done.")
    assertContains(answer, "The two new passwords differ.")
    one.refresh_from_db()
    assert one.check_password(PASSWORD)


def test_health_says_ok_to_a_stranger_and_nothing_else(client: Client) -> None:
    answer = client.get(reverse("front:health"))

    assert (answer.status_code, answer.content) == (200, b"ok")
