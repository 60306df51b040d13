"""Kettles and scales."""

from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django.asserts import assertContains

from tests.kettle import build
from workshop.kettle.models import Kettle, Scale

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _owner(client: Client) -> None:
    client.force_login(build.owner())


def test_kettle_is_added(client: Client) -> None:
    data = {"name": "large kettle", "capacity_g": "9 kg", "material": "glass", "is_active": "on"}

    response = client.post(reverse("kettle:new-kettle"), data, follow=True)

    kettle = Kettle.objects.get()
    assert (kettle.capacity_g, kettle.material) == (Decimal(9000), "glass")
    assertContains(response, "large kettle is saved.")


def test_kettle_is_taken_out_of_use(client: Client) -> None:
    kettle = build.kettle()
    data = {"name": kettle.name, "capacity_g": "2500", "material": kettle.material}

    client.post(reverse("kettle:kettle", args=[kettle.pk]), data)

    kettle.refresh_from_db()
    assert (kettle.capacity_g, kettle.is_active) == (Decimal(2500), False)


def test_form_of_a_kettle_shows_what_it_holds(client: Client) -> None:
    kettle = build.kettle(2500)

    response = client.get(reverse("kettle:kettle", args=[kettle.pk]))

    assertContains(response, "2\u202f500 g")


def test_capacity_shown_can_be_sent_back_as_it_is(client: Client) -> None:
    kettle = build.kettle(2500)

    client.post(
        reverse("kettle:kettle", args=[kettle.pk]),
        {
            "name": kettle.name,
            "capacity_g": "2\u202f500 g",
            "material": "copper",
            "is_active": "on",
        },
    )

    kettle.refresh_from_db()
    assert kettle.capacity_g == Decimal(2500)


@pytest.mark.parametrize("typed", ["0", "0 g", "-5 kg", "1e30 kg", "99999999999999 t", "much", ""])
def test_odd_capacity_of_a_kettle_is_explained(client: Client, typed: str) -> None:
    data = {"name": "odd", "capacity_g": typed}

    response = client.post(reverse("kettle:new-kettle"), data)

    assertContains(response, "invalid-feedback")
    assert not Kettle.objects.exists()


def test_second_kettle_of_the_same_name_is_refused(client: Client) -> None:
    kettle = build.kettle()

    response = client.post(
        reverse("kettle:new-kettle"), {"name": kettle.name, "capacity_g": "5 kg"}
    )

    assertContains(response, "There is already a kettle of this name.")


def test_scale_is_added(client: Client) -> None:
    data = {
        "name": "fine scale",
        "division_g": "0,01",
        "capacity_g": "600 g",
        "accuracy_class": "II",
        "is_active": "on",
    }

    client.post(reverse("kettle:new-scale"), data)

    scale = Scale.objects.get()
    assert (scale.division_g, scale.interval_g, scale.capacity_g) == (
        Decimal("0.01"),
        None,
        Decimal(600),
    )


@pytest.mark.parametrize(
    ("field", "typed", "sentence"),
    [
        ("division_g", "0", "It must be above zero."),
        ("division_g", "99999999999", "It must be at most 1000 g."),
        ("division_g", "fine", "“fine” is not a number."),
        ("division_g", "0.0001", "Give at most 3 decimal places."),
        ("capacity_g", "", "This field is required."),
        ("accuracy_class", "V", "Select a valid choice."),
    ],
)
def test_bad_scale_is_explained(client: Client, field: str, typed: str, sentence: str) -> None:
    data = {"name": "odd", "division_g": "0.5", "capacity_g": "6 kg", "accuracy_class": "III"}

    response = client.post(reverse("kettle:new-scale"), data | {field: typed})

    assertContains(response, sentence)
    assert not Scale.objects.exists()


def test_figures_of_a_scale_that_do_not_fit_are_pointed_out(client: Client) -> None:
    # NIST Handbook 133, table 2-1: a class III scale has at most 10 000 divisions.
    build.scale("0.5", 6000, accuracy_class="III")

    response = client.get(reverse("kettle:equipment"))

    assertContains(response, "are 12000.")
