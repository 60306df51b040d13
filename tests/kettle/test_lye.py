"""Lye at the kettle: what is not planned, what is not weighed, and what stands where it is done."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from pytest_django.asserts import assertContains, assertNotContains

from tests import make
from tests.kettle import build, soaps
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.kettle import services
from workshop.kettle.models import Batch, BatchLine, Kettle, KettleMaterial, Weighing
from workshop.kettle.weighing.screen import screen_of
from workshop.materials.models import SoapValue
from workshop.rules.soap.lye import ATTACKED, CAUTIONS

pytestmark = pytest.mark.django_db
NARROW = "\u202f"


def refusal(act: Any, *args: Any, **values: Any) -> ActionRefused:
    with pytest.raises(ActionRefused) as caught:
        act(*args, **values)
    return caught.value


def batch(**values: Any) -> Batch:
    values.setdefault("at", timezone.now() - timedelta(hours=1))
    return build.batch(soaps.version(), **values)


# ---- the plan ------------------------------------------------------------------------------------


def test_lye_heavy_soap_approved_before_is_not_planned() -> None:
    error = refusal(build.batch, soaps.version(soaps.lye_heavy()))

    # By hand, see `soaps.lye_heavy`: 10 g for fats that bind 9.43 g.
    assert error.message.startswith(f"The superfat comes to −6.1{NARROW}%")
    assert (error.field, Batch.objects.count()) == ("version", 0)


def test_soap_of_an_unknown_fat_is_not_planned() -> None:
    error = refusal(build.batch, soaps.version(soaps.sound(soaps.olive(None))))

    assert "no saponification value is kept for Olea Europaea Fruit Oil" in error.message


def test_rounding_to_the_scale_is_reckoned_with() -> None:
    # 100 g on a scale of 5 g: 70 of oil and 10 of lye, not 71 and 9.
    shares = [(soaps.olive(), "71"), (soaps.water(), "20"), (soaps.lye(), "9")]
    version = soaps.version(shares)
    build.batch(version, target_g="1000")

    error = refusal(build.batch, version, target_g="100", scale=build.scale("5"))

    assert "There is more lye than these fats can bind" in error.message


@pytest.mark.parametrize("material", sorted(ATTACKED))
def test_lye_is_not_planned_into_a_kettle_that_it_eats(material: str) -> None:
    # H290: attacks aluminium, zinc and tin and gives off hydrogen (suppliers' sheets).
    error = refusal(build.batch, soaps.version(), kettle=build.kettle(material=material))

    assert "gives off hydrogen" in error.message
    assert (error.field, Batch.objects.count()) == ("kettle", 0)


def test_what_lye_eats_are_materials_of_kettles() -> None:
    assert set(KettleMaterial.values) >= ATTACKED


def test_kettle_of_unknown_material_takes_no_lye() -> None:
    error = refusal(build.batch, soaps.version(), kettle=build.kettle(material=""))

    assert "nobody has entered what Kettle 1 is made of" in error.message
    assert error.field == "kettle"


def test_balm_may_be_made_in_aluminium() -> None:
    assert build.batch(kettle=build.kettle(material="aluminium")).pk


def test_plan_shows_superfat_and_cautions(client: Client) -> None:
    client.force_login(make.user(Role.MAKER))

    shown = client.get(reverse("kettle:sheet", args=[batch().operation.reference]))

    assertContains(shown, f"The superfat comes to 4.8{NARROW}%")
    assertContains(shown, "Kettle 1 (stainless steel)")
    for caution in CAUTIONS:
        assertContains(shown, caution)


def test_plan_of_a_balm_says_nothing_of_it(client: Client) -> None:
    client.force_login(make.user(Role.MAKER))
    made = build.batch()

    shown = client.get(reverse("kettle:sheet", args=[made.operation.reference]))

    assertNotContains(shown, "superfat")


# ---- the weigh-up --------------------------------------------------------------------------------


def line_of(of: Batch, name: str) -> BatchLine:
    found: BatchLine = of.lines.get(item__name=name)
    return found


def test_lye_beyond_what_the_fats_to_come_bind_is_not_weighed() -> None:
    made = batch()

    # 760 g of olive oil at 184 bind 99.69 g of NaOH (CXS 33); 98 g are planned.
    error = refusal(build.weigh, line_of(made, "Sodium hydroxide"), "99.8", at=timezone.now())

    assert "Weigh less lye, or more fat before it." in error.message
    assert (error.field, Weighing.objects.count()) == ("reading_g", 0)
    build.weigh(line_of(made, "Sodium hydroxide"), "99.6", at=timezone.now())


def test_fats_that_are_in_count_as_they_were_weighed() -> None:
    made = batch()
    build.weigh(line_of(made, "Olive oil"), "745", at=timezone.now())

    # 745 g at 184 bind 97.72 g.
    refusal(build.weigh, line_of(made, "Sodium hydroxide"), "98", at=timezone.now())

    build.weigh(line_of(made, "Sodium hydroxide"), "97.7", at=timezone.now())


def test_second_reading_of_lye_counts_with_the_first() -> None:
    made = batch()
    build.weigh(line_of(made, "Sodium hydroxide"), "60", at=timezone.now())

    refusal(build.weigh, line_of(made, "Sodium hydroxide"), "40", at=timezone.now())

    build.weigh(line_of(made, "Sodium hydroxide"), "38", at=timezone.now())


def test_lye_nobody_planned_is_weighed_by_the_same_rule() -> None:
    made = batch()
    lye = line_of(made, "Sodium hydroxide").item
    for line in made.lines.all():
        build.weigh(line, at=timezone.now())

    error = refusal(
        services.add_unplanned, made, lye, make.lot(lye), Decimal(5), reason="too soft",
        scale=made.scale, by=make.user(Role.MAKER), at=timezone.now(), token="5 g of lye",
    )  # fmt: skip

    assert "lye" in error.message
    assert made.lines.count() == 3


def test_kettle_found_to_be_aluminium_stops_the_lye() -> None:
    made = batch()
    Kettle.objects.update(material="aluminium")
    lye = BatchLine.objects.with_taken().get(item__name="Sodium hydroxide")

    assert "gives off hydrogen" in refusal(build.weigh, lye, at=timezone.now()).message
    build.weigh(line_of(made, "Olive oil"), at=timezone.now())


def test_value_taken_away_meanwhile_stops_the_lye() -> None:
    made = batch()
    SoapValue.objects.all().delete()

    error = refusal(build.weigh, line_of(made, "Sodium hydroxide"), at=timezone.now())

    assert "The superfat cannot be determined" in error.message


def test_record_of_a_poured_soap_can_be_made_true() -> None:
    """The book never lies for safety's sake: what did go in is written down after the pour."""
    made = batch()
    for line in made.lines.all():
        build.weigh(line, at=timezone.now())
    build.pour(made, "900", at=timezone.now())

    line = line_of(Batch.objects.get(pk=made.pk), "Sodium hydroxide")
    build.weigh(line, "10", at=timezone.now(), note="The second jug was forgotten.")

    later = timezone.now() + timedelta(days=43)
    assert "more lye than these fats can bind" in refusal(build.release, made, at=later).message


def test_superfat_stands_at_the_line_of_the_lye_alone() -> None:
    screen = screen_of(batch(), on=timezone.localdate())

    told = {row.line.item.name: row.superfat for row in screen.lines}

    assert told == {
        "Olive oil": [],
        "Water": [],
        "Sodium hydroxide": [
            f"Superfat 4.8{NARROW}%, by published values 1.7{NARROW}% to 7.7{NARROW}%."
        ],
    }


def test_lye_left_over_is_told_in_full_at_its_line() -> None:
    made = batch()
    build.weigh(line_of(made, "Sodium hydroxide"), at=timezone.now())
    build.weigh(line_of(made, "Olive oil"), "745", at=timezone.now())

    screen = screen_of(Batch.objects.get(pk=made.pk), on=timezone.localdate())

    told = " ".join(row.superfat[0] + row.superfat[-1] for row in screen.lines if row.superfat)
    assert "The superfat comes to 2.9" in told
    assert "lye would be left over" in told


def test_weigh_up_shows_superfat_and_caution_at_the_lye(client: Client) -> None:
    client.force_login(make.user(Role.MAKER))
    made = batch()
    address = reverse("kettle:weigh", args=[made.operation.reference])

    at_lye = client.get(address, {"line": line_of(made, "Sodium hydroxide").pk})
    at_oil = client.get(address, {"line": line_of(made, "Olive oil").pk})

    assertContains(at_lye, f">Superfat 4.8{NARROW}%")
    assertNotContains(at_oil, ">Superfat")
    rows = {row["name"]: row["cautions"] for row in at_oil.context["state"]["lines"]}
    assert rows["Sodium hydroxide"][1:] == [("lye", caution) for caution in CAUTIONS]


def test_balm_asks_nothing_of_soap() -> None:
    made = build.batch()
    with CaptureQueriesContext(connection) as asked:
        screen_of(made, on=timezone.localdate())

    assert not [one["sql"] for one in asked if "soapvalue" in one["sql"]]


# ---- the pour and the release --------------------------------------------------------------------


def weighed(made: Batch) -> Batch:
    for line in made.lines.all():
        build.weigh(line, at=timezone.now())
    return Batch.objects.get(pk=made.pk)


def test_pour_page_has_the_cautions_of_lye(client: Client) -> None:
    client.force_login(make.user(Role.MAKER))
    made = weighed(batch())

    shown = client.get(reverse("kettle:pour", args=[made.operation.reference]))

    assertContains(shown, f"The superfat comes to 4.8{NARROW}%")
    for caution in CAUTIONS:
        assertContains(shown, caution)


def test_release_page_shows_superfat_and_what_stands_in_the_way(client: Client) -> None:
    client.force_login(make.user(Role.OWNER))
    made = weighed(batch())
    build.pour(made, "900", at=timezone.now())

    shown = client.get(reverse("kettle:release", args=[made.operation.reference]))

    assertContains(shown, f"The superfat comes to 4.8{NARROW}%")
    assertContains(shown, "cures until")
