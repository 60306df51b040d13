"""Guessing passwords is stopped, and a proxy does not hide who guesses."""

from typing import Any

import pytest
from django.test import Client, override_settings

from workshop.core.models import Role, User

pytestmark = pytest.mark.django_db
RIGHT = "seven quiet kettles"


@pytest.fixture
def maker() -> User:
    return User.objects.create_user("tamsin", password=RIGHT, role=Role.MAKER)


def sign_in(client: Client, password: str, **headers: str) -> Any:
    return client.post("/sign-in/", {"username": "tamsin", "password": password}, headers=headers)


def test_right_password_signs_in_after_four_wrong_ones(maker: User, client: Client) -> None:
    for _ in range(4):
        sign_in(client, "wrong")

    answer = sign_in(client, RIGHT)

    assert (answer.status_code, answer["Location"]) == (302, "/")


def test_fifth_wrong_password_shuts_out_even_the_right_one(maker: User, client: Client) -> None:
    for _ in range(5):
        answer = sign_in(client, "wrong")
    right = sign_in(client, RIGHT)

    assert (answer.status_code, right.status_code) == (429, 429)
    assert "There were 5 wrong passwords for this name from this device" in answer.text


def test_wrong_passwords_from_one_address_do_not_shut_out_another(
    maker: User, client: Client
) -> None:
    with override_settings(AXES_IPWARE_META_PRECEDENCE_ORDER=["HTTP_X_REAL_IP"]):
        for _ in range(5):
            guesser = sign_in(client, "wrong", x_real_ip="203.0.113.9")
        owner = sign_in(client, RIGHT, x_real_ip="203.0.113.10")

    assert (guesser.status_code, owner.status_code) == (429, 302)


def test_claimed_address_is_not_believed_without_a_proxy(maker: User, client: Client) -> None:
    for number in range(5):
        answer = sign_in(client, "wrong", x_real_ip=f"203.0.113.{number}")

    assert answer.status_code == 429
