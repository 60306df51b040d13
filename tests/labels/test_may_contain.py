""" "May contain": colours of other batches or shades, from the design to the paper."""

from decimal import Decimal

import pytest
from django.db import DatabaseError, transaction
from django.test import Client
from django.urls import reverse

from tests import make
from tests.labels import build
from tests.labels.test_design_pages import DESIGN, text
from tests.labels.test_print_status import Bench, design
from workshop.core.markets import (
    Market,
)
from workshop.core.models import (
    Role,
    User,
)
from workshop.labels import services
from workshop.labels.approval.print_status import label_status
from workshop.labels.content.label import label_for
from workshop.labels.models import LabelDesign, LabelVersion
from workshop.ledger.models import Lot
from workshop.materials.models import Constituency

pytestmark = pytest.mark.django_db

SHADES = "CI 77491 (Iron Oxides)\nCI 77891 (Titanium Dioxide)"


@pytest.fixture
def owner() -> User:
    return make.user(Role.OWNER)


def fresh(lot: Lot) -> Lot:
    return Lot.objects.get(pk=lot.pk)


def shaded(market: Market, owner: User) -> tuple[Bench, Lot]:
    """A lot of a product whose design names two colours that other shades hold."""
    bench = Bench(market=market)
    lot = bench.usual()
    design(bench.product, owner, may_contain=SHADES)
    return bench, fresh(lot)


@pytest.mark.parametrize(
    ("market", "ending"),
    [
        # Source: 21 CFR 701.3(g); the sign +/- is not in that text.
        (Market.US, "May contain: Iron Oxides (CI 77491), Titanium Dioxide (CI 77891)."),
        # Source: Regulation (EC) 1223/2009, article 19(1)(g): Colour Index numbers, "+/-".
        (Market.EU, "[+/- CI 77491, CI 77891]."),
    ],
)
def test_colours_of_other_shades_stand_after_the_list(
    market: Market, ending: str, owner: User
) -> None:
    _, lot = shaded(market, owner)

    assert label_for(lot).declaration.list_text.endswith(ending)


def test_colour_that_was_weighed_in_stands_in_the_list_itself(owner: User) -> None:
    bench = Bench()
    red = build.oil("CI 77491", "Iron Oxides", constituency=Constituency.COLOURANT)
    lot = bench.lot((bench.olive, 800), (bench.wax, 190), (red, 10))
    design(bench.product, owner, may_contain=SHADES)

    label = label_for(fresh(lot))

    assert label.declaration.list_text == (
        "Ingredients: Olea Oil*, Beeswax, Iron Oxides (CI 77491). "
        "May contain: Titanium Dioxide (CI 77891)."
    )
    assert (
        "CI 77491 is in this lot, so it stands in the list itself and not after “may contain”."
    ) in label.warnings


def test_approved_label_keeps_its_shades_and_prints_them(owner: User) -> None:
    bench, lot = shaded(Market.EU, owner)
    version = bench.approve(lot, owner)
    design(bench.product, owner, may_contain="")
    later = bench.usual()

    printed = services.log_print(later, 10, by=owner, at=make.NOON)

    assert version.may_contain == ["CI 77491", "CI 77891"]
    assert "[+/- CI 77491, CI 77891]." in printed.text
    for shades in ([], ["CI 77492"]):
        with pytest.raises(DatabaseError, match="stays as it was approved"), transaction.atomic():
            LabelVersion.objects.filter(pk=version.pk).update(may_contain=shades)


def test_lot_that_holds_a_colour_given_only_as_may_contain_is_pointed_out(
    client: Client, owner: User
) -> None:
    bench, lot = shaded(Market.US, owner)
    bench.approve(lot, owner)
    red = build.oil("CI 77491", "Iron Oxides", constituency=Constituency.COLOURANT)
    shade = bench.lot((bench.olive, 800), (bench.wax, 185), (bench.vitamin, 5), (red, 10))
    standing = label_status(shade)
    client.force_login(owner)

    page = text(client.get(reverse("labels:label", args=[shade.code])))

    assert standing.untrue == ()
    assert standing.notices == [
        f"Lot {shade} holds Iron Oxides (CI 77491) (1 %), which the label gives only after “may "
        "contain”. That is for colours of other batches or shades: what is in this one belongs in "
        "the list itself."
    ]
    assert standing.notices[0] in page


def test_us_label_asks_for_the_name_under_which_a_colour_is_listed(owner: User) -> None:
    bench = Bench()
    lot = bench.usual()
    design(bench.product, owner, may_contain="CI 77491")

    assert (
        "The US calls a colour by the name under which it is listed (21 CFR 73 and 74), such as "
        "Iron Oxides: give it in brackets after CI 77491."
    ) in label_for(fresh(lot)).warnings


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("CI 7749", "“CI 7749” is not a Colour Index number: five figures follow CI."),
        ("CI 77491\nci77491", "CI 77491 is there twice."),
        ("CI 77491 (Iron Oxides", "close the bracket around the second name"),
        ("<b>red</b>", "is not the name of a colour. Write it as CI 77491."),
        (
            "Cera Alba",
            "Cera Alba is entered under Materials as something else than a colour, and only "
            "colours may stand after “may contain”.",
        ),
    ],
)
def test_odd_shade_is_refused_beside_its_field_and_stays_typed(
    client: Client, owner: User, typed: str, sentence: str
) -> None:
    build.workshop()
    lot = build.balm()
    client.force_login(owner)
    address = reverse("labels:design", args=[lot.item.code])

    answer = client.post(address, DESIGN | {"may_contain": typed})

    assert sentence in text(answer)
    assert answer.context["form"].data["may_contain"] == typed
    assert not LabelDesign.objects.exists()


def test_shades_are_kept_in_one_way_of_writing(client: Client, owner: User) -> None:
    build.workshop()
    lot = build.balm()
    client.force_login(owner)
    address = reverse("labels:design", args=[lot.item.code])

    typed = "ci77491 (Iron Oxides)\n\n Mica (CI 77019) "
    page = client.post(address, DESIGN | {"may_contain": typed}, follow=True)

    assert LabelDesign.objects.get().may_contain == "CI 77491 (Iron Oxides)\nCI 77019 (Mica)"
    assert "CI 77019 (Mica)" in text(page)


def test_design_made_before_there_were_shades_names_none(owner: User) -> None:
    bench = Bench(fill_g=Decimal(30))

    assert label_for(bench.usual()).declaration.may_contain == ()
