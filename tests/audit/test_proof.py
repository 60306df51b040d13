"""The state of the book's proof, and certificates that run out."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django.asserts import assertContains, assertNotContains

from tests import make
from workshop import __version__
from workshop.audit.proof_state import certificates_running_out, state
from workshop.core.models import Role, User
from workshop.goods_in.models import Certificate, Supplier
from workshop.ledger.models import Seal
from workshop.ledger.proof.chain_head import head

pytestmark = pytest.mark.django_db

TODAY = make.day()


def certificate(
    valid_to: date, *, number: str = "EXAMPLE-EG-1", of: Supplier | None = None
) -> Certificate:
    of = of or Supplier.objects.get_or_create(name="Ostrey Oils")[0]
    return Certificate.objects.create(
        supplier=of,
        certifier="Evergrain Assurance",
        number=number,
        valid_from=valid_to - timedelta(days=364),
        valid_to=valid_to,
    )


def running_out() -> list[Certificate]:
    return list(certificates_running_out(TODAY))


def test_certificate_is_told_from_sixty_days_before_its_last_day() -> None:
    certificate(TODAY + timedelta(days=61))
    assert running_out() == []

    lapsing = certificate(TODAY + timedelta(days=60), number="EXAMPLE-EG-2", of=_other())

    assert running_out() == [lapsing]


def _other() -> Supplier:
    return Supplier.objects.create(name="Marl Ridge Apiary")


def test_certificate_that_was_renewed_is_no_longer_told() -> None:
    certificate(TODAY - timedelta(days=30))
    certificate(TODAY + timedelta(days=335), number="EXAMPLE-EG-2")

    assert running_out() == []


def test_certificate_that_lapsed_stays_told_while_the_supplier_is_in_use() -> None:
    lapsed = certificate(TODAY - timedelta(days=400))
    assert running_out() == [lapsed]

    Supplier.objects.update(is_active=False)

    assert running_out() == []


def test_state_counts_what_is_in_the_book() -> None:
    owner = make.user()
    make.lot(by=owner)
    make.lot(by=owner)
    make.operation(by=owner)

    now = state()

    assert (now.operations, now.still_open, now.lots, now.postings) == (3, 1, 2, 2)
    assert (now.seals, now.last_seal) == (2, Seal.objects.get(number=2))


# ---- pages ---------------------------------------------------------------------------------------


@pytest.fixture
def inspector(client: Client) -> User:
    person = make.user(Role.INSPECTOR, first_name="Inspector")
    client.force_login(person)
    return person


def test_home_shows_the_last_seal_and_the_certificates(client: Client, inspector: User) -> None:
    make.lot()
    certificate(timezone.localdate() - timedelta(days=1))

    response = client.get(reverse("audit:home"))

    assertContains(response, Seal.objects.get().digest)
    assertContains(response, "Evergrain Assurance EXAMPLE-EG-1")
    assertContains(response, "expired")
    assertContains(response, f"version {__version__}")


def test_home_of_an_empty_book_says_so(client: Client, inspector: User) -> None:
    assertContains(client.get(reverse("audit:home")), "Nothing is sealed yet")


def test_inspector_proves_the_whole_book(client: Client, inspector: User) -> None:
    make.lot()

    response = client.post(reverse("audit:prove"))

    assertContains(response, "No finding: the book is sound")
    assertContains(response, "every posting has the sign of its side")


def test_broken_seal_is_told(client: Client, inspector: User, monkeypatch: Any) -> None:
    make.lot()
    monkeypatch.setattr(
        "workshop.ledger.services.seal_chain.digest", lambda previous, record: "0" * 64
    )

    response = client.post(reverse("audit:prove"))

    assertContains(response, "The book is not sound")
    assertContains(response, "not sound")


@pytest.mark.parametrize("role", [Role.MAKER, Role.PACKER])
def test_others_read_but_do_not_start_the_proof(client: Client, role: Role) -> None:
    client.force_login(make.user(role))

    assertNotContains(client.get(reverse("audit:home")), "Check the whole book")
    assert client.post(reverse("audit:prove")).status_code == 403


@pytest.mark.parametrize("rows", [1, 5])
def test_home_takes_the_same_queries_for_any_number_of_certificates(
    client: Client, inspector: User, rows: int, django_assert_num_queries: Any
) -> None:
    for number in range(rows):
        of = Supplier.objects.create(name=f"Supplier {number}")
        certificate(timezone.localdate(), number=f"EXAMPLE-{number}", of=of)

    with django_assert_num_queries(11):
        client.get(reverse("audit:home"))


def test_head_of_the_chain_stands_on_the_page_and_is_saved_as_one_line(
    client: Client, inspector: User
) -> None:
    make.lot()
    newest = head()
    assert newest is not None

    assertContains(client.get(reverse("audit:home")), newest.code)
    saved = client.get(reverse("audit:head"))

    assert saved.content.decode() == f"{newest.line}\n"
    assert saved["Content-Disposition"] == 'attachment; filename="seal-1.txt"'


def test_empty_book_has_no_head_to_save(client: Client, inspector: User) -> None:
    assert client.get(reverse("audit:head")).status_code == 404
