"""A soap is designed on the page of its formula, and its lye and water go into the draft."""

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django.asserts import assertContains, assertNotContains

from tests import make
from tests.formulas import build
from tests.kettle import soaps
from workshop.core.models import Role
from workshop.formulas.models import Version
from workshop.formulas.soap.planned_superfat import VersionSoap

pytestmark = pytest.mark.django_db

# Common practice, no source: the figures a maker begins with.
USUAL: dict[str, Any] = {
    "fats_g": "1000", "superfat": "5", "by_naoh": "100", "naoh_purity": "100", "koh_purity": "90",
    "water_to_lye": "2", "cure_loss": "12", "label_g": "100",
}  # fmt: skip


@pytest.fixture
def draft() -> Version:
    """Olive and coconut, 80 to 20, and lye and water that nobody has worked out yet."""
    soaps.lye(), soaps.water()
    return build.draft(build.line(80, soaps.olive()), build.line(20, soaps.coconut()))


def page(version: Version) -> str:
    return reverse("formulas:design", args=[version.pk])


def test_kettle_and_bars_are_worked_out_from_the_fats(client: Client, draft: Version) -> None:
    """800 g at 190 and 200 g at 256.5 take 203.3 g of KOH, 137.68 g of NaOH at 5 %."""
    client.force_login(make.user(Role.MAKER))

    answer = client.get(page(draft), USUAL)

    for figure in ("137.68", "275.37", "105.67", "113.64"):
        assertContains(answer, figure)
    assertNotContains(answer, "Take lye and water into the draft")


def test_superfat_below_nothing_is_refused(client: Client, draft: Version) -> None:
    client.force_login(make.user(Role.OWNER))

    answer = client.get(page(draft), USUAL | {"superfat": "-1"})

    assertContains(answer, "Below 0 % of superfat lye is left over")
    assertContains(answer, 'value="-1"')


def test_strength_in_the_field_of_the_ratio_is_refused(client: Client, draft: Version) -> None:
    client.force_login(make.user(Role.OWNER))

    answer = client.get(page(draft), USUAL | {"water_to_lye": "33"})

    assertContains(answer, "such as 33 is a strength in per cent")


def test_lye_and_water_go_into_the_draft(client: Client, draft: Version) -> None:
    client.force_login(make.user(Role.OWNER))

    client.post(page(draft), USUAL)

    lines = {line.item.name: line.share for line in draft.lines.all()}
    assert sum(lines.values()) == 100
    assert lines["Olive oil"] == 4 * lines["Coconut oil"]
    version = Version.objects.in_full().get(pk=draft.pk)
    assert version.cure_loss == Decimal(12)
    soap = VersionSoap(version).soap
    assert soap is not None
    assert soap.superfat is not None
    assert round(100 * float(soap.superfat.usual), 2) == 5.0


def test_taken_over_twice_it_is_the_same_draft(client: Client, draft: Version) -> None:
    client.force_login(make.user(Role.OWNER))
    client.post(page(draft), USUAL)
    once = list(draft.lines.values_list("item", "share"))

    client.post(page(draft), USUAL)

    assert list(draft.lines.values_list("item", "share")) == once


def test_other_liquid_is_a_line_of_its_own_first(client: Client, draft: Version) -> None:
    client.force_login(make.user(Role.OWNER))

    answer = client.post(page(draft), USUAL | {"liquid_g": "50"})

    assertContains(answer, "are ingredients of their own")
    assert draft.lines.count() == 2


def test_fat_without_a_value_is_asked_for(client: Client) -> None:
    client.force_login(make.user(Role.MAKER))
    bare = build.draft(build.line(100, soaps.olive(None)))

    assertContains(client.get(page(bare)), "no saponification value is kept for")
