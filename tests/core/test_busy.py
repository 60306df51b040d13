"""While a long act writes to a SQLite book it can be read, and what is sent to it is not lost."""

import re
import time
from datetime import timedelta
from html import unescape

import pytest
from django import forms
from django.contrib.sessions.models import Session
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.urls import get_resolver, reverse

from tests import make
from tests.core.busy import written_to_elsewhere
from tests.core.test_sessions import last_touched
from workshop.core.models import Role, User, Workshop
from workshop.core.web.error_pages import AWAY, BUSY
from workshop.core.web.send_again import SECRET, words_of
from workshop.core.web.sessions import NOTED_EVERY

pytestmark = pytest.mark.django_db(transaction=True)
PAGE = {"Accept": "text/html,application/xhtml+xml"}
GOOD = "sieve lanolin at dusk"
WORKS = {
    "name": "Wren & Hollow Works",
    "address": "4 Quay Lane\r\n<Ostrey>",
    "contact": 'the "bell"',
    "certified_by": "",
    "market": "EU",
    "seen": "",
}


@pytest.fixture
def owner() -> Client:
    client = Client(raise_request_exception=False)
    client.force_login(make.user(Role.OWNER))
    return client


def fields_of(page: str) -> dict[str, str]:
    """What the form of a page would send, as a browser reads it."""
    form = page[page.index("<form") : page.index("</form>")]
    found = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', form)
    return {unescape(name): unescape(value) for name, value in found}


def address_of(page: str) -> str:
    found = re.search(r'<form method="post"\s+action="([^"]*)"', page)
    assert found is not None
    return unescape(found[1])


def test_form_sent_meanwhile_comes_back_to_be_sent_again(owner: Client) -> None:
    with written_to_elsewhere():
        answer = owner.post(f"{reverse('core:workshop')}?from=first&x=1", WORKS, headers=PAGE)

    assert answer.status_code == 503
    assert int(answer["Retry-After"]) > 0
    assert BUSY in unescape(answer.text)
    assert AWAY not in answer.text
    assert "Send it again" in answer.text
    assert "<Ostrey>" not in answer.text
    assert not Workshop.objects.exists()

    again = fields_of(answer.text)
    assert again.pop("csrfmiddlewaretoken")
    assert again == WORKS
    sent = owner.post(address_of(answer.text), again, headers=PAGE)

    assert sent.status_code == 302
    kept = Workshop.objects.get()
    assert (kept.name, kept.contact) == (WORKS["name"], WORKS["contact"])


def test_form_that_is_sent_again_bears_a_token_that_holds() -> None:
    client = Client(raise_request_exception=False, enforce_csrf_checks=True)
    client.force_login(make.user(Role.OWNER))
    page = client.get(reverse("core:workshop")).text
    first = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', page)
    assert first is not None
    with written_to_elsewhere():
        data = {**WORKS, "csrfmiddlewaretoken": first[1]}
        answer = client.post(reverse("core:workshop"), data, headers=PAGE)
    again = fields_of(answer.text)

    assert again["csrfmiddlewaretoken"] != first[1]
    assert client.post(reverse("core:workshop"), again, headers=PAGE).status_code == 302


def test_what_another_site_sends_is_never_offered_to_be_sent_again() -> None:
    client = Client(raise_request_exception=False, enforce_csrf_checks=True)
    client.force_login(make.user(Role.OWNER))
    with written_to_elsewhere():
        answer = client.post(reverse("core:workshop"), WORKS, headers=PAGE)

    assert answer.status_code == 403
    assert WORKS["contact"] not in unescape(answer.text)


def test_passwords_are_asked_for_by_name_and_not_given_back(owner: Client) -> None:
    person = {"name": "Tamsin Oke", "username": "tamsin", "role": "maker", "password": GOOD}
    with written_to_elsewhere():
        answer = owner.post(reverse("core:new-person"), person, headers=PAGE)

    assert answer.status_code == 503
    assert GOOD not in unescape(answer.text)
    assert fields_of(answer.text)["username"] == "tamsin"
    assert 'type="password"' in answer.text
    assert re.search(r"<label[^>]*>Password</label>", answer.text)


def test_sign_in_meanwhile_keeps_the_name(owner: Client) -> None:
    User.objects.create_user("tamsin", password=GOOD, role=Role.MAKER)
    door = Client(raise_request_exception=False)
    with written_to_elsewhere():
        data = {"username": "tamsin", "password": GOOD}
        answer = door.post(reverse("front:sign-in"), data, headers=PAGE)

    assert answer.status_code == 503
    assert GOOD not in unescape(answer.text)
    assert fields_of(answer.text)["username"] == "tamsin"


def test_files_are_asked_for_by_name(owner: Client) -> None:
    file = SimpleUploadedFile('ours "2".csv', b"Name\nOstrey Oils\n")
    with written_to_elsewhere():
        answer = owner.post(reverse("transfer:sheets"), {"file": file}, headers=PAGE)

    assert answer.status_code == 503
    assert "must be given again" in answer.text
    assert 'File (ours "2".csv)' in unescape(answer.text)
    assert 'enctype="multipart/form-data"' in answer.text
    assert "Ostrey Oils" not in answer.text


@pytest.mark.parametrize(
    "headers", [{"Accept": "application/json"}, {"Accept": "*/*", "HX-Request": "true"}, {}]
)
def test_script_of_ours_is_told_to_come_again_and_given_nothing_back(
    owner: Client, headers: dict[str, str]
) -> None:
    """It keeps what it sends: at the stove readings stay on the device until the book has them."""
    with written_to_elsewhere():
        answer = owner.post(reverse("core:workshop"), WORKS, headers=headers)

    assert answer.status_code == 503
    assert int(answer["Retry-After"]) > 0
    assert BUSY in unescape(answer.text)
    assert "4 Quay Lane" not in answer.text


def test_page_is_read_without_waiting_though_a_touch_is_due(owner: Client) -> None:
    last_touched(ago=NOTED_EVERY + timedelta(minutes=1))
    before = Session.objects.get().expire_date
    with written_to_elsewhere(patience_ms=10_000):
        began = time.perf_counter()
        answer = owner.get(reverse("front:account"))
        took_s = time.perf_counter() - began
        with connection.cursor() as cursor:
            patience_ms = cursor.execute("PRAGMA busy_timeout").fetchone()[0]

    assert answer.status_code == 200
    assert took_s < 10
    assert Session.objects.get().expire_date == before
    assert patience_ms == 10_000  # what is sent waits for its turn as ever
    owner.get(reverse("front:account"))
    assert Session.objects.get().expire_date > before


def every_form(kind: type[forms.BaseForm] = forms.BaseForm) -> set[type[forms.BaseForm]]:
    return {kind}.union(*(every_form(one) for one in kind.__subclasses__()))


def test_every_field_for_a_password_is_known_by_its_name() -> None:
    """By that it is never given back."""
    assert get_resolver().url_patterns  # which brings in every form of every room
    secret = {
        name
        for form in every_form()
        if form.__module__.partition(".")[0] != "tests"
        for name, field in getattr(form, "base_fields", {}).items()
        if isinstance(field.widget, forms.PasswordInput)
    }

    assert {"password", "present_password", "old_password"} <= secret
    assert [name for name in secret if SECRET not in name] == []


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("supplier_lot", "Supplier lot"),
        ("lines-0-best_before", "Lines 1 best before"),
        ("password", "Password"),
    ],
)
def test_field_is_named_in_words(name: str, words: str) -> None:
    assert words_of(name) == words
