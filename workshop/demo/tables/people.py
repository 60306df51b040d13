"""The people, the suppliers with their certificates, and the customers. All invented."""

import secrets
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.contrib.auth.hashers import make_password

from workshop.core.markets import (
    Market,
)
from workshop.core.models import (
    Role,
    User,
    Workshop,
)
from workshop.core.saving.with_history import save_with_history
from workshop.demo.tables.folder import rows_of
from workshop.dispatch import services as dispatch
from workshop.dispatch.models import Customer
from workshop.goods_in import services as goods_in
from workshop.goods_in.models import Supplier

NAME = "Wren Hollow Works"
CERTIFIER = "Evergrain Assurance"


@dataclass(frozen=True)
class Person:
    username: str
    first_name: str
    last_name: str
    role: Role


OWNER = Person("odile", "Odile", "Marsh", Role.OWNER)
PEOPLE = (
    OWNER,
    Person("tamsin", "Tamsin", "Roe", Role.MAKER),
    Person("bram", "Bram", "Hale", Role.MAKER),
    Person("pia", "Pia", "Lund", Role.PACKER),
    Person("inspector", "Visiting", "inspector", Role.INSPECTOR),
)
USERNAMES = [person.username for person in PEOPLE]

SUPPLIERS = rows_of("suppliers.csv")


@dataclass(frozen=True)
class HeldCertificate:
    """A certificate of a supplier; its days count from the day on which the demo ends.

    `only` and `never` are beginnings of the codes of the materials it covers and leaves out.
    """

    supplier: str
    number: str
    first: int
    last: int
    only: tuple[str, ...] = ("",)
    never: tuple[str, ...] = ()

    def span(self, until: date) -> tuple[date, date]:
        return until + timedelta(days=self.first), until + timedelta(days=self.last)

    def covers(self, code: str) -> bool:
        return code.startswith(self.only) and not code.startswith(self.never)


MINTS = ("EO-PEP", "EO-SPE")
# Between the two of Marl Ridge lie nine days without any: the renewal came late.
GAP = (-275, -267)


def _certificate(row: dict[str, str]) -> HeldCertificate:
    return HeldCertificate(
        row["supplier"],
        row["number"],
        int(row["first"]),
        int(row["last"]),
        only=tuple(row["only"].split()) or ("",),
        never=tuple(row["never"].split()),
    )


CERTIFICATES = tuple(_certificate(row) for row in rows_of("certificates.csv"))


def enter_people(at: datetime) -> dict[str, User]:
    """Enter everybody; nobody can sign in until they get a password."""
    people: dict[str, User] = {}
    for person in PEOPLE:
        user = User(
            username=person.username,
            first_name=person.first_name,
            last_name=person.last_name,
            role=person.role,
            date_joined=at,
        )
        user.set_unusable_password()
        people[person.username] = save_with_history(
            user, by=people.get(OWNER.username, user), at=at
        )
    return people


def give_passwords() -> Iterator[tuple[User, str]]:
    """Give everybody of the demo a new password, and tell it this once."""
    for user in User.objects.filter(username__in=USERNAMES).order_by("pk"):
        password = secrets.token_urlsafe(9)
        User.objects.filter(pk=user.pk).update(password=make_password(password))
        yield user, password


def is_demo() -> bool:
    """Whether this book was filled by the demo."""
    return Workshop.objects.filter(name=NAME).exists() and User.objects.filter(
        username__in=USERNAMES
    ).count() == len(USERNAMES)


def enter_workshop(*, by: User, at: datetime) -> Workshop:
    workshop = Workshop(
        pk=1,
        name=NAME,
        address="The Old Net Loft\nWren Hollow\nPort Ellery",
        contact="hello@wrenhollow.example.com, 555-0100",
        certified_by=f"{CERTIFIER} (EXAMPLE-EG-0700)",
        market=Market.US,
    )
    return save_with_history(workshop, by=by, at=at)


def enter_suppliers(*, by: User, at: datetime) -> dict[str, Supplier]:
    return {
        row["name"]: goods_in.save_supplier(
            {
                "name": row["name"],
                "contact": row["contact"],
                "address": row["address"].replace(" / ", "\n"),
                "email": f"orders@{row['domain']}.example.com",
                "telephone": row["telephone"],
            },
            by=by,
            at=at,
        )
        for row in SUPPLIERS
    }


def enter_customers(*, by: User, at: datetime) -> list[Customer]:
    rows = rows_of("customers.csv")
    return [dispatch.save_customer(_customer(row), by=by, at=at) for row in rows]


def _customer(row: dict[str, str]) -> Customer:
    """A shop, or with a number of buyers to name the many of the web shop."""
    named = row.pop("buyers_named")
    many = {"stands_for_many": True, "buyers_named": int(named)} if named else {}
    return Customer(**row, **many)
