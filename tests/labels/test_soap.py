"""The label of a soap: its superfat, what stars it may carry, and how it is used."""

from collections.abc import Sequence
from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django.asserts import assertContains, assertNotContains

from tests import make
from tests.kettle import build as kettle
from tests.labels import build
from tests.packing import build as packing
from workshop.core.markets import (
    Market,
)
from workshop.core.models import (
    Role,
    Workshop,
)
from workshop.core.saving.new_tokens import new_token
from workshop.formulas.models import Formula, Version
from workshop.kettle.adjustments.use_limits import uses_behind
from workshop.kettle.models import Batch
from workshop.labels.content.label import Label, label_for
from workshop.labels.services import designs
from workshop.ledger.models import Lot
from workshop.materials.models import Constituency, SoapValue
from workshop.materials.services import data_sheets
from workshop.packing.services import pack

pytestmark = pytest.mark.django_db
NARROW = "\u202f"
LATER = make.DAY + timedelta(days=365)


def fats(*, organic: bool = False) -> Lot:
    values = {"organic_until": LATER} if organic else {}
    olive = build.oil("Olea Europaea Fruit Oil", "olive oil", soap_name="Sodium Olivate", **values)
    data_sheets.save_soap_value(olive.item, Decimal(190), by=make.user(), at=make.NOON)
    return olive


def soap(lye_g: int = 77, *, organic: bool = False, scent: bool = False) -> Lot:
    """600 g of olive oil at 190 bind 81.27 g of NaOH; 77 g leave 5.3 % (ISO 3657)."""
    build.workshop(market=Market.EU, certified_by="Evergrain Assurance")
    parts: list[build.Part] = [
        (fats(organic=organic), 600),
        (build.oil("Aqua", constituency=Constituency.WATER), 160),
        (build.oil("Sodium Hydroxide", constituency=Constituency.ALKALI), lye_g),
    ]
    if scent:
        values = {"organic_until": LATER, "constituency": Constituency.FRAGRANCE}
        parts.append((build.oil("Lavandula Angustifolia Oil", "lavender oil", **values), 10))
    return build.finished(parts)


def label(lot: Lot, **design: object) -> Label:
    if design:
        designs.save_design(lot.item.product, design, by=make.user(), at=make.NOON)
    return label_for(Lot.objects.get(pk=lot.pk))


def test_label_page_shows_the_superfat(client: Client) -> None:
    client.force_login(make.user(Role.OWNER))
    lot = soap()

    shown = client.get(reverse("labels:label", args=[lot.code]))

    # 1 - 77 / 81.27; CXS 33 has olive oil from 184 to 196.
    assertContains(shown, f"The superfat comes to 5.3{NARROW}%")
    assertContains(shown, f"it lies from 2.2{NARROW}% to 8.2{NARROW}%")


def test_label_page_of_a_balm_says_nothing_of_lye(client: Client) -> None:
    client.force_login(make.user(Role.OWNER))
    build.workshop(market=Market.EU)

    assertNotContains(client.get(reverse("labels:label", args=[build.balm().code])), "superfat")


def test_soap_that_could_burn_gets_no_label() -> None:
    stops = label(soap(lye_g=85)).stops

    assert any("There is more lye than these fats can bind" in stop for stop in stops)


def test_soap_of_unknown_fats_gets_no_label() -> None:
    lot = soap()
    olive = SoapValue.objects.get().item
    data_sheets.save_soap_value(olive, None, by=make.user(), at=make.NOON)

    assert any("The superfat cannot be determined" in stop for stop in label(lot).stops)


def test_mark_of_organic_stands_at_the_oil_and_not_at_its_salt() -> None:
    # 7 CFR 205.303(b)(1): the mark stands at each organic ingredient.
    names = [entry.text for entry in label(soap(organic=True)).declaration.entries]
    assert names == ["Olea Europaea Fruit Oil*", "Aqua", "Sodium Hydroxide"]

    came_out = label(Lot.objects.get(item__kind="product"), soap_naming="saponified").declaration
    assert [entry.text for entry in came_out.entries] == [
        "Sodium Olivate", "Aqua", "Glycerin", "Olea Europaea Fruit Oil*",
    ]  # fmt: skip


def test_word_for_fragrance_has_no_mark_and_an_oil_named_has_its_own() -> None:
    lot = soap(scent=True)

    assert "Parfum" in [entry.text for entry in label(lot).declaration.entries]

    named = label(lot, names_fragrance=True).declaration
    assert "Lavandula Angustifolia Oil*" in [entry.text for entry in named.entries]


# ---- how it is used ------------------------------------------------------------------------------


def melted(version: Version, lots: Sequence[Lot] = ()) -> Lot:
    """Poured of these lots where they fit a line, of fresh ones elsewhere, and released."""
    batch = kettle.batch(version, at=timezone.now() - timedelta(minutes=5))
    given = {lot.item_id: lot for lot in lots}
    for line in batch.lines.all():
        kettle.weigh(line, lot=given.get(line.item_id), at=timezone.now())
    (lot,) = kettle.pour(Batch.objects.get(pk=batch.pk), "900", at=timezone.now())
    kettle.release(batch, at=timezone.now())
    return Lot.objects.get(pk=lot.pk)


def packed(*bulk: Lot) -> Lot:
    product = packing.product(bulk=bulk[0].item)
    each = 10 * product.fill_g / len(bulk)
    return pack(
        product, units=10, bulk=[(lot, each) for lot in bulk],
        containers=[(make.lot(product.container), 10)], made_on=timezone.localdate(),
        by=make.user(), at=timezone.now(), token=new_token(),
    )  # fmt: skip


def use_behind(lot: Lot) -> str:
    return uses_behind([lot])[lot.pk]


def test_infusion_behind_what_is_rinsed_off_does_not_make_it_stay_on() -> None:
    infusion = melted(kettle.version())
    shares = [(infusion.item, "60"), (make.item(), "40")]

    assert use_behind(packed(melted(kettle.version(shares, is_rinse_off=True), [infusion]))) == (
        "rinse-off"
    )


def test_what_is_rinsed_off_does_not_make_what_it_went_into_rinse_off() -> None:
    base = melted(kettle.version(is_rinse_off=True))
    shares = [(base.item, "60"), (make.item(), "40")]

    assert use_behind(packed(melted(kettle.version(shares), [base]))) == "leave-on"


def test_run_of_two_bulks_stays_on_where_one_does() -> None:
    rinsed = melted(kettle.version(is_rinse_off=True))
    other = Formula.objects.create(item=rinsed.item, name="The same, to stay on")
    stays = melted(kettle.version(of=other))

    assert use_behind(packed(rinsed)) == "rinse-off"
    assert use_behind(packed(rinsed, stays)) == "leave-on"


def test_bulk_of_no_known_formula_stays_on() -> None:
    assert use_behind(packing.packed()) == "leave-on"


def test_us_names_the_salt_of_an_organic_oil_after_the_oil_and_says_to_ask() -> None:
    lot = soap(organic=True)
    Workshop.objects.update(market=Market.US)

    us = label(lot, soap_naming="saponified", sold_in_us=True, sold_in_eu=False)

    assert us.declaration.names[0] == "Saponified organic olive oil"
    assert "Sodium Olivate" not in us.declaration.names
    assert any("Ask your certifier" in sentence for sentence in us.wording.warnings)
    assert not us.declaration.entries[0].is_organic
