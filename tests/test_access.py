"""Every address of the book × every role × reading and writing."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from tests import make
from workshop.core.models import Role, User

# Open to anybody: signing in, and the health of the machine.
OPEN = {"front:sign-in", "front:health"}
# What the inspector may send: a new password for their own account, a proof of the book.
# Proving the book and making a pack for the inspection change nothing in it.
INSPECTOR_WRITES = {
    "front:account",
    "front:sign-out",
    "audit:prove",
    "organic:packs",
    "organic:pack-work",
}
# A value for each kind of argument; nothing by that name need exist, since the role is asked first.
STAND_INS: dict[str, Any] = {"int": 1, "string": "X", "slug": "x", "path": "x"}


def addresses(resolver: Any = None, space: str = "") -> Iterator[tuple[str, URLPattern]]:
    """Every named address with its namespace."""
    for entry in (resolver or get_resolver()).url_patterns:
        if isinstance(entry, URLResolver):
            yield from addresses(entry, entry.namespace or space)
        else:
            yield f"{space}:{entry.name}", entry


ALL = sorted(dict(addresses()).items())


def address_of(name: str, pattern: URLPattern) -> str:
    converters = pattern.pattern.converters
    stand_ins = {
        key: STAND_INS[type(converter).__name__.removesuffix("Converter").lower()]
        for key, converter in converters.items()
    }
    return reverse(name, kwargs=stand_ins)


def roles(pattern: URLPattern, mark: str) -> frozenset[Role]:
    found: frozenset[Role] = getattr(pattern.callback, mark)
    return found


def client_of(person: User) -> Client:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.mark.parametrize(("name", "pattern"), ALL, ids=[name for name, _ in ALL])
def test_address_says_whose_it_is(name: str, pattern: URLPattern) -> None:
    if name in OPEN:
        assert getattr(pattern.callback, "login_required", True) is False
    else:
        assert roles(pattern, "read_roles") <= frozenset(Role)
        assert roles(pattern, "write_roles") <= frozenset(Role)
        assert Role.OWNER in roles(pattern, "read_roles") | roles(pattern, "write_roles")


@pytest.mark.parametrize(
    ("name", "pattern"), [row for row in ALL if row[0] not in OPEN], ids=lambda value: str(value)
)
def test_inspector_changes_nothing(name: str, pattern: URLPattern) -> None:
    may_send = Role.INSPECTOR in roles(pattern, "write_roles")

    assert may_send == (name in INSPECTOR_WRITES)


@pytest.mark.django_db
@pytest.mark.parametrize("method", ["GET", "POST"])
@pytest.mark.parametrize("role", Role)
def test_every_address_is_shut_to_every_role_it_does_not_name(role: Role, method: str) -> None:
    client = client_of(make.user(role))
    mark = "read_roles" if method == "GET" else "write_roles"
    # Signing out comes last: nobody is refused anything after it.
    rows = sorted(ALL, key=lambda row: row[0] == "front:sign-out")
    wrong = []
    for name, pattern in rows:
        if name in OPEN:
            continue
        answer = client.generic(method, address_of(name, pattern))
        refused = answer.status_code == 403
        if refused != (role not in roles(pattern, mark)):
            wrong.append((name, answer.status_code))

    assert wrong == []


@pytest.mark.django_db
def test_every_address_asks_a_stranger_to_sign_in() -> None:
    client = Client()
    for name, pattern in ALL:
        if name in OPEN:
            continue
        for method in ("GET", "POST"):
            answer = client.generic(method, address_of(name, pattern))
            assert answer.status_code == 302, (name, method)
            assert answer["Location"].startswith(reverse("front:sign-in")), (name, method)
