"""The Set-up pages, and files as downloads."""

import io
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from PIL import Image
from pytest_django.asserts import assertContains, assertNotContains, assertRedirects

from tests import make
from workshop.core.files.uploads import checked_file, store_upload
from workshop.core.models import Role, Upload, User, Workshop

pytestmark = pytest.mark.django_db

GOOD = "grey heron over the marsh"
TAMSIN = {
    "username": "tamsin",
    "first_name": "Tamsin",
    "last_name": "Roe",
    "role": "maker",
    "password": GOOD,
}


@pytest.fixture
def owner(client: Client) -> User:
    person = make.user(first_name="Odile")
    client.force_login(person)
    return person


def test_set_up_says_that_the_address_is_missing(client: Client, owner: User) -> None:
    assertContains(client.get(reverse("core:home")), "and there is none yet")


def test_set_up_is_read_by_everyone(client: Client) -> None:
    Workshop.objects.create(pk=1, name="Wren Hollow Works", address="4 Quay Lane")
    client.force_login(make.user(Role.INSPECTOR))

    response = client.get(reverse("core:home"))

    assertContains(response, "Wren Hollow Works")
    assertNotContains(response, reverse("core:workshop"))


def test_workshop_is_entered_and_shown(client: Client, owner: User) -> None:
    values = {"name": "Wren Hollow Works", "address": "4 Quay Lane\nPort Ellery", "market": "EU"}

    response = client.post(reverse("core:workshop"), values, follow=True)

    assertContains(response, "From now on labels name Wren Hollow Works.")
    assertContains(response, "4 Quay Lane<br>Port Ellery")


@pytest.mark.parametrize("typed", ["952", "95212x4", "9521234567890"])
def test_company_prefix_out_of_form_is_told_by_its_field(
    client: Client, owner: User, typed: str
) -> None:
    values = {"name": "Wren", "address": "4 Quay Lane", "market": "US", "gs1_prefix": typed}
    response = client.post(reverse("core:workshop"), values)

    assertContains(response, "A GS1 company prefix has 4 to 12 digits")
    assertContains(response, f'value="{typed}"')
    assert not Workshop.objects.exists()


def test_workshop_without_an_address_keeps_the_typing(client: Client, owner: User) -> None:
    response = client.post(reverse("core:workshop"), {"name": "Wren", "market": "US"})

    assertContains(response, 'value="Wren"')
    assertContains(response, "This field is required.")
    assert not Workshop.objects.exists()


def test_person_is_added_and_may_sign_in(client: Client, owner: User) -> None:
    response = client.post(reverse("core:new-person"), TAMSIN, follow=True)

    assertRedirects(response, reverse("core:people"))
    assertContains(response, "Tamsin Roe may sign in as tamsin, maker.")
    signed_in = Client().post(reverse("front:sign-in"), {"username": "tamsin", "password": GOOD})
    assertRedirects(signed_in, reverse("front:today"), fetch_redirect_response=False)


def test_sign_in_leaves_no_line_in_the_history(client: Client, owner: User) -> None:
    client.post(reverse("core:new-person"), TAMSIN)

    Client().post(reverse("front:sign-in"), {"username": "tamsin", "password": GOOD})

    assert User.objects.get(username="tamsin").history.count() == 1


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"password": "12345678"}, "This password is too common."),
        ({"username": "a name"}, "Enter a valid username."),
        ({"username": ""}, "This field is required."),
        ({"role": "king"}, "Select a valid choice."),
        ({"first_name": "x" * 151}, "at most 150 characters"),
    ],
)
def test_person_that_cannot_be_is_refused_beside_the_field(
    client: Client, owner: User, values: dict[str, str], sentence: str
) -> None:
    response = client.post(reverse("core:new-person"), {**TAMSIN, **values})

    assertContains(response, sentence)
    assertContains(response, 'value="Roe"')
    assert User.objects.count() == 1


def test_person_is_shut_out(client: Client, owner: User) -> None:
    maker = make.user(Role.MAKER, username="bram", first_name="Bram")
    theirs = Client()
    theirs.force_login(maker)

    response = client.post(
        reverse("core:person", args=[maker.pk]),
        {"username": "bram", "first_name": "Bram", "role": "maker"},
        follow=True,
    )

    assertContains(response, "Bram, maker, may no longer sign in.")
    assertRedirects(
        theirs.get(reverse("core:home")),
        f"{reverse('front:sign-in')}?next={reverse('core:home')}",
    )


def test_last_owner_is_told_to_make_another_first(client: Client, owner: User) -> None:
    response = client.post(
        reverse("core:person", args=[owner.pk]),
        {"username": owner.username, "role": "maker", "is_active": "on"},
    )

    assertContains(response, "This is the last owner. Make somebody else an owner first.")


def test_new_password_signs_other_devices_out_but_not_this_one(client: Client, owner: User) -> None:
    owner.set_password("the one before")
    owner.save()
    elsewhere = Client()
    for device in (client, elsewhere):
        device.force_login(owner)

    response = client.post(
        reverse("core:password", args=[owner.pk]),
        {"present_password": "the one before", "password": GOOD, "password_again": GOOD},
        follow=True,
    )

    assertContains(response, "Odile has a new password")
    assert elsewhere.get(reverse("core:home")).status_code == 302
    assert client.get(reverse("core:home")).status_code == 200


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"password": GOOD, "password_again": "other"}, "The two passwords differ."),
        ({"password": "short", "password_again": "short"}, "This password is too short."),
    ],
)
def test_new_password_that_cannot_be_is_refused(
    client: Client, owner: User, values: dict[str, str], sentence: str
) -> None:
    person = make.user(Role.MAKER)

    response = client.post(reverse("core:password", args=[person.pk]), values)

    assertContains(response, sentence)
    person.refresh_from_db()
    assert not person.has_usable_password()


@pytest.mark.parametrize("rows", [1, 5])
def test_people_take_the_same_queries_for_any_number(
    client: Client, owner: User, rows: int, django_assert_num_queries: Any
) -> None:
    for _ in range(rows):
        make.user(Role.MAKER)

    with django_assert_num_queries(5):  # session, user, states counted, count, rows
        client.get(reverse("core:people"))


# ---- files ---------------------------------------------------------------------------------------


@pytest.fixture
def upload(settings: Any, tmp_path: Path) -> Upload:
    settings.MEDIA_ROOT = tmp_path
    picture = io.BytesIO()
    Image.new("RGB", (2, 2), "white").save(picture, "PNG")
    picture.seek(0)
    return store_upload(checked_file('odd "name".png', picture), by=make.user(), at=make.NOON)


def test_file_leaves_as_a_download_only(client: Client, upload: Upload) -> None:
    client.force_login(make.user(Role.INSPECTOR))

    response = client.get(reverse("core:file", args=[upload.pk]))

    assert response["Content-Disposition"].startswith("attachment;")
    assert response["X-Content-Type-Options"] == "nosniff"
    assert response["Content-Type"] == "image/png"
    assert b"".join(response.streaming_content).startswith(b"\x89PNG")  # type: ignore[attr-defined]


def test_file_is_not_for_a_stranger(client: Client, upload: Upload) -> None:
    assert client.get(reverse("core:file", args=[upload.pk])).status_code == 302


def test_file_that_is_gone_is_not_found(client: Client, owner: User, upload: Upload) -> None:
    upload.file.storage.delete(upload.file.name)

    assert client.get(reverse("core:file", args=[upload.pk])).status_code == 404
    assert client.get(reverse("core:file", args=[10**9])).status_code == 404


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("address", "station"),
    [("/materials/", "Goods-in"), ("/aftersales/complaints/", "Trace"), ("/kettle/", "Kettle")],
)
def test_station_that_a_page_stands_under_is_marked(
    signed_in: Any, address: str, station: str
) -> None:
    page = " ".join(signed_in().get(address).content.decode().split())

    assert f'aria-current="page">{station}</a>' in page
    assert page.count('aria-current="page"') == 1
