"""Change log, as the history page tells it."""

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django.asserts import assertContains, assertNotContains
from simple_history.models import registered_models

from tests import make
from tests.formulas import build
from tests.goods_in import build as goods
from workshop.aftersales.models import Complaint
from workshop.audit.change_log import KINDS, FieldChange, LoggedChange, all_records, entries
from workshop.core import formatting
from workshop.core import services as core
from workshop.core.models import Role, User
from workshop.core.saving.with_history import save_with_history
from workshop.formulas import services as formulas
from workshop.goods_in.models import Certificate, Supplier
from workshop.kettle.models import Kettle, Scale
from workshop.ledger.models import ItemKind
from workshop.materials.models import Profile
from workshop.materials.services.blends import BlendComponent, start_blend

pytestmark = pytest.mark.django_db


def told(**filters: Any) -> list[LoggedChange]:
    return entries(list(all_records(**filters)))


def supplier(name: str = "Ostrey Oils", *, by: User) -> Supplier:
    return save_with_history(Supplier(name=name), by=by, at=make.NOON)


def certificate(of: Supplier, number: str = "EG-1", *, by: User) -> Certificate:
    row = Certificate(
        supplier=of,
        certifier="Evergrain Assurance",
        number=f"EXAMPLE-{number}",
        valid_from=make.day(-328),
        valid_to=make.day(36),
    )
    return save_with_history(row, by=by, at=make.NOON)


def test_change_is_told_from_what_to_what_and_by_whom() -> None:
    owner = make.user(first_name="Odile")
    row = supplier(by=owner)
    row.telephone, row.is_active = "555-0101", False
    save_with_history(row, by=owner, at=make.NOON)

    last, first = told(kind="supplier")

    assert (last.at, last.by, last.about, last.act) == (
        make.NOON,
        "Odile",
        "Ostrey Oils",
        "changed",
    )
    assert last.changes == [
        FieldChange("telephone", "–", "555-0101"),
        FieldChange("in use", "yes", "no"),
    ]
    assert (first.act, first.changes[0]) == ("entered", FieldChange("name", "–", "Ostrey Oils"))


def test_part_of_a_blend_is_told_with_the_day_it_holds_from() -> None:
    owner = make.user()
    old, new = [BlendComponent("OIL", Decimal(100))], [BlendComponent("WAX", Decimal(100))]
    profile = goods.material("Melt", parts=old).profile
    start_blend(profile, new, from_day=make.day(-85), by=owner, at=make.NOON)

    assert [(one.about, one.act) for one in told(kind="part")] == [
        (f"WAX, from {make.shown(-85)}", "entered"),
        ("OIL", "entered"),
    ]


def test_history_names_what_a_row_points_at() -> None:
    owner = make.user()
    row = certificate(supplier(by=owner), by=owner)
    row.supplier = supplier("Marl Ridge Apiary", by=owner)
    row.valid_to = make.day(67)
    save_with_history(row, by=owner, at=make.NOON)

    assert told(kind="certificate")[0].changes == [
        FieldChange("supplier", "Ostrey Oils", "Marl Ridge Apiary"),
        FieldChange("valid to", f"{make.shown(36)}", f"{make.shown(67)}"),
    ]


def test_history_names_the_items_that_a_certificate_covers() -> None:
    owner = make.user()
    row = certificate(supplier(by=owner), by=owner)
    row.items.set([make.item(name="Sunflower oil")])

    assert told(kind="certificate")[0].changes == [FieldChange("items", "–", "Sunflower oil")]


def test_history_tells_the_role_in_words_and_no_password() -> None:
    owner, person = make.user(), make.user(Role.MAKER, username="bram")
    core.set_password(person, "a quiet kettle sings", by=owner, at=timezone.now())
    core.change_person(
        person,
        username="bram",
        first_name="Maker",
        last_name="",
        role=Role.PACKER,
        is_active=True,
        by=owner,
        at=timezone.now(),
    )

    changed, password, *_ = [entry for entry in told(kind="person") if entry.about == "bram"]

    assert changed.changes == [FieldChange("role", "maker", "packer")]
    assert (password.changes, password.reason) == ([], "A new password was set.")
    person.refresh_from_db()
    assert person.password not in repr(told())


def test_history_of_a_version_says_when_it_was_approved() -> None:
    owner = make.user(first_name="Odile")
    version = build.approved(of=build.formula(name="Hand salve"), by=owner)

    last = told(kind="version")[0]

    assert last.about == "Hand salve, version 1"
    assert {change.field: change.now for change in last.changes} == {
        "status": "approved",
        "approved at": formatting.moment(make.NOON),
        "approved by": "Odile",
    }
    assert version.status == "approved"


def test_history_remembers_a_draft_that_was_thrown_away() -> None:
    owner = make.user()
    formulas.discard_draft(build.draft(of=build.formula(name="Salve")), by=owner)

    last = told(kind="version")[0]

    assert (last.about, last.act, last.changes) == ("Salve, version 1", "removed", [])


def test_history_shows_exact_figures() -> None:
    owner = make.user()
    scale = Scale(name="Bench", division_g=Decimal("0.5"), capacity_g=Decimal(6000))
    save_with_history(scale, by=owner, at=make.NOON)
    scale.division_g = Decimal("0.25")
    save_with_history(scale, by=owner, at=make.NOON)

    assert told(kind="scale")[0].changes == [FieldChange("division g", "0.5", "0.25")]


def test_every_kind_is_told_at_least_once() -> None:
    owner = make.user()
    certificate(supplier(by=owner), by=owner)
    build.approved(by=owner)
    profile = Profile(item=make.item(name="Shea butter"), inci_name="BUTYROSPERMUM PARKII BUTTER")
    save_with_history(profile, by=owner, at=make.NOON)
    save_with_history(Kettle(name="Small", capacity_g=Decimal(2500)), by=owner, at=make.NOON)

    words = {entry.kind for entry in told()}
    about = {entry.about for entry in told(kind="profile")}

    assert words >= {"person", "item", "supplier", "certificate", "formula version", "kettle"}
    assert about == {"Shea butter"}


def test_every_model_with_a_history_is_a_kind() -> None:
    covered = {  # told with the certificate, and with the complaint
        Certificate.items.through,
        Complaint.lots.through,
        Complaint.photos.through,
    }

    assert {kind.model for kind in KINDS.values()} == set(registered_models.values()) - covered


def test_history_is_newest_first_over_all_kinds() -> None:
    owner = make.user()
    supplier(by=owner)
    build.approved(by=owner)

    moments = [entry.at for entry in told()]

    assert moments == sorted(moments, reverse=True)


# ---- the page ------------------------------------------------------------------------------------


@pytest.fixture
def inspector(client: Client) -> User:
    person = make.user(Role.INSPECTOR)
    client.force_login(person)
    return person


def test_page_is_narrowed_down_by_kind_and_person(client: Client, inspector: User) -> None:
    odile, tamsin = make.user(), make.user()
    supplier("Ostrey Oils", by=odile)
    supplier("Marl Ridge Apiary", by=tamsin)
    make.item(ItemKind.MATERIAL, name="Sunflower oil")

    response = client.get(reverse("audit:history"), {"kind": "supplier", "person": str(tamsin.pk)})

    assertContains(response, "Marl Ridge Apiary")
    assertNotContains(response, "Ostrey Oils")
    assertNotContains(response, "Sunflower oil")


@pytest.mark.parametrize(
    "query",
    [
        {"kind": "odd"},
        {"person": "x"},
        {"person": "99999999999999999999999"},
        {"page": "-4"},
    ],
)
def test_page_asked_oddly_shows_what_it_can(
    client: Client, inspector: User, query: dict[str, str]
) -> None:
    supplier("Ostrey Oils", by=inspector)

    assertContains(client.get(reverse("audit:history"), query), "Ostrey Oils")


def test_page_holds_fifty_lines(client: Client, inspector: User) -> None:
    for number in range(60):
        supplier(f"Supplier {number}", by=inspector)

    response = client.get(reverse("audit:history"), {"kind": "supplier", "page": "2"})

    assertContains(response, "51 to 60 of 60")


@pytest.mark.parametrize("rows", [1, 5])
def test_page_takes_the_same_queries_for_any_number_of_lines(
    client: Client, inspector: User, rows: int, django_assert_num_queries: Any
) -> None:
    for number in range(rows):
        row = certificate(supplier(f"Supplier {number}", by=inspector), str(number), by=inspector)
        row.items.set([make.item()])

    # Session, user, people, count, places; then of the certificates the
    # records, the items of each and their names; then the names of the suppliers.
    with django_assert_num_queries(9):
        client.get(reverse("audit:history"), {"kind": "certificate"})
