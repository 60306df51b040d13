"""The people, the suppliers with their certificates, and the customers. All invented."""

import csv
import secrets
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.contrib.auth.hashers import make_password

from workshop.core.models import Market, Role, User, Workshop
from workshop.core.saving.with_history import save_with_history
from workshop.dispatch import services as dispatch
from workshop.dispatch.models import Customer
from workshop.goods_in import services as goods_in
from workshop.goods_in.models import Supplier

TABLES = Path(settings.BASE_DIR) / "fixtures" / "demo"
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

SUPPLIERS = (
    ("Ostrey Oils Cooperative", "Hale Brandt", "Quay 4\nOstrey", "ostrey-oils", "555-0141"),
    ("Marl Ridge Apiary", "Una Cole", "Marl Ridge\nUpper Welling", "marlridge", "555-0142"),
    ("Cantle Packaging", "Order desk", "Unit 6, Cantle Works\nWelling", "cantle", "555-0143"),
    ("Veldt & Stone Butters", "Imre Stone", "44 Dock Road\nOstrey", "veldtstone", "555-0144"),
    ("Low Fen Distillery", "Greta Fenn", "Low Fen\nMarsh End", "lowfen", "555-0145"),
)


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
CERTIFICATES = (
    HeldCertificate("Ostrey Oils Cooperative", "EXAMPLE-EG-1041-A", -690, -326),
    HeldCertificate("Ostrey Oils Cooperative", "EXAMPLE-EG-1041-B", -325, 41),
    HeldCertificate("Marl Ridge Apiary", "EXAMPLE-EG-1107-A", -641, -276),
    HeldCertificate("Marl Ridge Apiary", "EXAMPLE-EG-1107-B", -266, 99),
    HeldCertificate("Veldt & Stone Butters", "EXAMPLE-EG-1163-A", -600, -236),
    HeldCertificate("Veldt & Stone Butters", "EXAMPLE-EG-1163-B", -235, 130),
    HeldCertificate("Low Fen Distillery", "EXAMPLE-EG-1190-A", -581, -306, never=MINTS),
    HeldCertificate("Low Fen Distillery", "EXAMPLE-EG-1190-B", -305, 60, never=MINTS),
    HeldCertificate("Low Fen Distillery", "EXAMPLE-EG-1191-A", -751, -387, only=MINTS),
    # Nobody has sent the renewal of this one.
    HeldCertificate("Low Fen Distillery", "EXAMPLE-EG-1191-B", -386, -21, only=MINTS),
)


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
        name: goods_in.save_supplier(
            {
                "name": name,
                "contact": contact,
                "address": address,
                "email": f"orders@{domain}.example.com",
                "telephone": telephone,
            },
            by=by,
            at=at,
        )
        for name, contact, address, domain, telephone in SUPPLIERS
    }


def enter_customers(*, by: User, at: datetime) -> list[Customer]:
    with (TABLES / "customers.csv").open(encoding="utf-8", newline="") as table:
        return [
            dispatch.save_customer(_customer(row), by=by, at=at) for row in csv.DictReader(table)
        ]


def _customer(row: dict[str, str]) -> Customer:
    """A shop, or with a number of buyers to name the many of the web shop."""
    named = row.pop("buyers_named")
    many = {"stands_for_many": True, "buyers_named": int(named)} if named else {}
    return Customer(**row, **many)
