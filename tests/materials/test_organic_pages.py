"""What a material is under a scheme, from which day on, is entered and read on its pages."""

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django.asserts import assertContains, assertNotContains

from tests import make
from tests.goods_in import build
from workshop.core.models import Role
from workshop.materials.models import ListEntry, OrganicStatus

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner(client: Client) -> Client:
    client.force_login(make.user(Role.OWNER))
    return client


def sent(**values: str) -> dict[str, str]:
    return {
        "scheme": "NOP",
        "part_name": "",
        "from_day": "",
        "status": "listed_606",
        "annotation": "",
        "search": "",
        "searched_on": "",
        "source": "7 CFR 205.606, as known on the day",
        "next_review": "",
    } | values


def test_status_holds_from_its_day_and_the_former_one_until_then(owner: Client) -> None:
    item = build.material(status="agricultural")
    address = reverse("materials:new-organic-status", args=[item.code])

    answer = owner.post(
        address,
        sent(
            from_day=make.iso(30),
            search="Three suppliers asked; none had it organic.",
            searched_on=make.iso(-2),
            next_review=make.iso(363),
        ),
    )
    page = owner.get(answer.headers["Location"])

    assert list(OrganicStatus.objects.order_by("from_day").values_list("status", flat=True)) == [
        "agricultural",
        "listed_606",
    ]
    for told in (make.shown(30), make.shown(363), "agricultural, not organic, listed (205.606)"):
        assertContains(page, told)


def test_what_cannot_be_is_said_beside_its_field_and_the_typing_kept(owner: Client) -> None:
    item = build.material(is_organic=False, status="")
    address = reverse("materials:new-organic-status", args=[item.code])

    for values, said in (
        ({"status": "organic"}, "It is not kept as bought organic"),
        ({"from_day": "30 Feb 2027"}, "30 Feb 2027"),
        ({"scheme": "elsewhere"}, "elsewhere"),
    ):
        answer = owner.post(address, sent(**values))
        assert answer.status_code == 200
        assertContains(answer, said)
        assertContains(answer, "7 CFR 205.606, as known on the day")
    assert not OrganicStatus.objects.exists()


def test_rules_that_come_with_the_program_are_entered_once_with_their_day(owner: Client) -> None:
    enter = reverse("materials:enter-known-rules")

    first = owner.post(enter, follow=True)
    entered = ListEntry.objects.count()
    again = owner.post(enter, follow=True)

    assert entered > 0 == ListEntry.objects.filter(source="").count()
    assert not ListEntry.objects.filter(known_on__isnull=True).exists()
    assert ListEntry.objects.count() == entered
    assertContains(first, "entered.")
    assertContains(again, "All of it is entered already.")


def test_others_read_the_lists_and_change_nothing(client: Client) -> None:
    client.force_login(make.user(Role.INSPECTOR))
    item = build.material(status="listed_b")

    lists = client.get(reverse("materials:organic-schemes"))
    page = client.get(reverse("materials:material", args=[item.code]))
    refused = client.post(reverse("materials:new-organic-status", args=[item.code]), sent())

    assert (lists.status_code, refused.status_code) == (200, 403)
    assertContains(page, "not agricultural, listed as synthetic (205.605(b))")
    assertNotContains(page, reverse("materials:new-organic-status", args=[item.code]))
