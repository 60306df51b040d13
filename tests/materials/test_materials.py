"""Keeping materials, packaging and blends."""

import re
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from pytest_django.asserts import assertContains

from tests import make
from tests.goods_in import build
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.ledger.models import Item, ItemKind, Unit
from workshop.materials.models import Constituency, SoapValue
from workshop.materials.services.materials import (
    BlendComponent,
    Material,
    material_of,
    save_material,
)

pytestmark = pytest.mark.django_db
OIL = Material("OIL-1", "Olive oil", inci_name="OLEA EUROPAEA FRUIT OIL", cas="8001-25-0")


def save(material: Material, item: Item | None = None) -> Item:
    return save_material(material, by=make.user(), at=build.NOON, item=item)


def refused(material: Material, item: Item | None = None) -> tuple[str, str | None]:
    before = Item.objects.count()
    with pytest.raises(ActionRefused) as caught:
        save(material, item)
    assert Item.objects.count() == before
    return caught.value.message, caught.value.field


def test_material_comes_back_as_it_was_kept() -> None:
    kept = replace(
        OIL,
        density_g_per_ml=Decimal("0.9150"),
        max_arrival_c=Decimal("8.5"),
        melting_from_c=Decimal("-5.5"),
        melting_to_c=Decimal(4),
        shelf_life_months=18,
        parts=[
            BlendComponent("A", Decimal("99.9999")),
            BlendComponent("B", Decimal("0.0001"), is_organic=True),
        ],
    )

    assert material_of(save(kept)) == kept


def test_saponification_value_is_kept_with_the_material() -> None:
    values = [Decimal(190), Decimal(184), Decimal(196)]  # CXS 33
    value, least, most = values
    kept = replace(OIL, soap_value=value, soap_least=least, soap_most=most, parts=[])

    item = save(kept)

    assert material_of(item) == kept
    row = item.soap_value
    assert [row.value, row.least, row.most] == values
    save(OIL, item)
    assert not SoapValue.objects.exists()


@pytest.mark.parametrize(
    ("value", "least", "most", "sentence"),
    [
        ("49", None, None, "A saponification value is in mg KOH per gram"),
        ("401", None, None, "A saponification value is in mg KOH per gram"),
        (None, "184", None, "Give the usual value as well as its range."),
        ("190", "191", None, "The usual value lies between the lowest and the highest."),
        ("190", None, "189", "The usual value lies between the lowest and the highest."),
        ("0", "50", None, "The usual value lies between the lowest and the highest."),
    ],
)
def test_odd_saponification_value_is_refused(
    value: str | None, least: str | None, most: str | None, sentence: str
) -> None:
    figures = [None if one is None else Decimal(one) for one in (value, least, most)]
    told, field = refused(
        replace(OIL, soap_value=figures[0], soap_least=figures[1], soap_most=figures[2])
    )

    assert told.startswith(sentence)
    assert field == "soap_value"


def test_value_of_nothing_says_that_it_binds_no_lye() -> None:
    assert material_of(save(replace(OIL, soap_value=Decimal(0)))).soap_value == 0


@pytest.mark.parametrize(("inci", "cas"), [("Pearls", "1310-73-2"), ("Potassium Hydroxide", "")])
def test_lye_cannot_pass_as_another_ingredient(inci: str, cas: str) -> None:
    told, field = refused(replace(OIL, inci_name=inci, cas=cas))

    assert "is lye: choose “alkali”" in told
    assert field == "constituency"


def test_form_of_a_material_has_the_saponification_value(client: Client) -> None:
    client.force_login(make.user(Role.OWNER))
    item = save(OIL)
    sent = {
        "code": "OIL-1", "name": "Olive oil", "inci_name": "Olea Europaea Fruit Oil",
        "constituency": "plain", "is_active": "on", "soap_value": "190", "soap_least": "184,5",
        "soap_most": "", "parts-TOTAL_FORMS": "0", "parts-INITIAL_FORMS": "0",
    }  # fmt: skip

    client.post(f"/materials/{item.code}/change/", sent)
    shown = client.get(f"/materials/{item.code}/")

    row = SoapValue.objects.get()
    assert (row.value, row.least, row.most) == (190, Decimal("184.5"), None)
    assertContains(shown, "190 mg KOH/g, from 184.5")
    assertContains(shown, "published 184 to 196 (CXS 33)")


def test_value_outside_the_published_range_is_told(client: Client) -> None:
    client.force_login(make.user(Role.OWNER))
    item = save(replace(OIL, inci_name="Cocos Nucifera Oil", soap_value=Decimal(269)))

    shown = client.get(f"/materials/{item.code}/")

    # CXS 210 has 248 to 265; a chart of the trade says 269.
    assertContains(shown, "outside the published 248 to 265 (CXS 210). Check it.")


def test_melting_range_goes_upwards() -> None:
    kept = replace(OIL, melting_from_c=Decimal(65), melting_to_c=Decimal("62.5"))

    assert refused(kept) == (
        "A melting range goes upwards: 65 °C is above 62.5 °C. Swap the two.",
        "melting_to_c",
    )


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        ("62", "65", "62 to 65\u202f°C"),
        ("68.5", "72.5", "68.5 to 72.5\u202f°C"),
        ("24", "24", "24\u202f°C"),
        ("-12", None, "−12\u202f°C"),
        (None, "42", "42\u202f°C"),
        (None, None, ""),
        ("0", "0", "0\u202f°C"),
    ],
)
def test_melting_range_is_said_as_far_as_it_is_known(
    low: str | None, high: str | None, words: str
) -> None:
    ends = [None if one is None else Decimal(one) for one in (low, high)]

    item = save(replace(OIL, melting_from_c=ends[0], melting_to_c=ends[1]))

    assert item.profile.melting_range == words


def test_material_is_weighed_and_packaging_is_counted() -> None:
    assert save(OIL).unit == Unit.GRAM
    assert save(Material("TIN-1", "Tin", kind=ItemKind.PACKAGING)).unit == Unit.EACH


def test_material_change_is_in_its_history_with_who() -> None:
    item = save(OIL)

    save(replace(OIL, storage="Cool and dark"), item)

    changes = item.profile.history.all()
    assert [row.storage for row in changes] == ["Cool and dark", ""]
    assert {row.history_user.role for row in changes} == {Role.OWNER}


def test_blend_parts_are_changed_taken_out_and_added() -> None:
    first = [BlendComponent("A", Decimal(60)), BlendComponent("B", Decimal(40))]
    item = save(replace(OIL, parts=first))
    second = [BlendComponent("C", Decimal(75)), BlendComponent("A", Decimal(25), common_name="a")]

    save(replace(OIL, parts=second), item)

    assert material_of(Item.objects.get()).parts == second


@pytest.mark.parametrize("shares", [("60", "39.9999"), ("60", "40.0001"), ("50",)])
def test_blend_must_add_up_to_exactly_100(shares: tuple[str, ...]) -> None:
    parts = [BlendComponent(f"P{number}", Decimal(share)) for number, share in enumerate(shares)]
    total = sum(map(Decimal, shares))

    assert refused(replace(OIL, parts=parts)) == (
        f"The parts of the blend add up to {total} %; they must add up to exactly 100 %.",
        "parts",
    )


# 8001-25-0 is olive oil's registry number (Chemical Abstracts Service; from memory).
@pytest.mark.parametrize("cas", ["8001-25-1", "8001-52-0", "olive", "8001-25-", "٨٠٠١-25-0"])
def test_cas_number_with_a_wrong_digit_is_refused(cas: str) -> None:
    assert refused(replace(OIL, cas=cas)) == (
        f"{cas} is not a CAS number: its last digit does not fit the others."
        " Copy it again, such as 8001-25-0.",
        "cas",
    )


def test_material_needs_an_inci_name() -> None:
    assert refused(replace(OIL, inci_name=" ")) == (
        "A material needs its INCI name, as a label lists it.",
        "inci_name",
    )


def test_second_item_of_a_code_is_refused() -> None:
    save(OIL)

    assert refused(replace(OIL, name="Other")) == (
        "Another item already has this code.",
        "code",
    )


def test_item_stays_what_it_is() -> None:
    item = save(OIL)

    sentence, field = refused(replace(OIL, kind=ItemKind.PACKAGING), item)

    assert (sentence, field) == (
        "An item stays what it is; enter a new one instead.",
        "kind",
    )


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        (
            {"constituency": Constituency.WATER, "is_organic": True},
            "Water, salt and alkali cannot be organic.",
        ),
        ({"density_g_per_ml": Decimal("0.2")}, "A density lies between 0.3 and 5 g/mL."),
        (
            {"parts": [BlendComponent("A", Decimal(50)), BlendComponent("a", Decimal(50))]},
            "The blend names the same part twice; add them together.",
        ),
        (
            {
                "parts": [
                    BlendComponent("AQUA", Decimal(100), kind=Constituency.WATER, is_organic=True)
                ]
            },
            "AQUA: water, salt and alkali cannot be organic.",
        ),
        (
            {"parts": [BlendComponent("A", Decimal(110)), BlendComponent("B", Decimal(-10))]},
            "A share lies above 0 and at most at 100 %.",
        ),
    ],
)
def test_odd_material_is_refused(values: dict[str, Any], sentence: str) -> None:
    assert refused(replace(OIL, **values))[0] == sentence


MATERIAL = {
    "code": "oil-argan",
    "name": "Argan oil",
    "inci_name": "ARGANIA SPINOSA KERNEL OIL",
    "constituency": "plain",
    "is_active": "on",
    "density_g_per_ml": "0,912",
    "parts-TOTAL_FORMS": "3",
    "parts-INITIAL_FORMS": "0",
    "parts-0-kind": "plain",
    "parts-1-kind": "plain",
    "parts-2-kind": "plain",
}


@pytest.fixture
def owner(client: Client) -> Client:
    client.force_login(make.user(Role.OWNER))
    return client


def test_material_page_keeps_a_material_with_its_blend(owner: Client) -> None:
    blend = {
        "parts-0-inci_name": "A",
        "parts-0-share": "33,3333",
        "parts-2-inci_name": "B",
        "parts-2-share": "66.6667",
        "parts-2-is_organic": "on",
    }

    owner.post("/materials/new/", MATERIAL | blend)

    item = Item.objects.get(code="OIL-ARGAN")
    assert item.profile.density_g_per_ml == Decimal("0.9120")
    assert material_of(item).parts == [
        BlendComponent("B", Decimal("66.6667"), is_organic=True),
        BlendComponent("A", Decimal("33.3333")),
    ]


def test_material_page_asks_four_things_first_and_folds_the_rest(owner: Client) -> None:
    page = owner.get("/materials/new/").text
    form = page[page.index('<form method="post"', page.index("<main")) :]
    before, *folded = form.split('<details class="room"')

    asked = re.findall(r"<(?:input|select|textarea)\b([^>]*)>", before)
    shown = [words for words in asked if 'type="hidden"' not in words]
    names = [found[1] for words in shown if (found := re.search(r'name="([^"]+)"', words))]
    assert names == ["name", "inci_name", "constituency", "is_organic"]
    assert len(folded) >= 4


def test_material_page_shows_what_is_kept_and_saves_it_unchanged(owner: Client) -> None:
    item = build.material("Olive oil", parts=[BlendComponent("A", Decimal(100))], cas="8001-25-0")
    address = f"/materials/{item.code}/change/"
    kept = material_of(item)
    page = owner.get(address).context
    sent = {
        bound.html_name: bound.value()
        for form in (page["form"], *page["parts"])
        for bound in form
        if bound.value() not in (None, False)
    }

    owner.post(address, {**sent, "parts-TOTAL_FORMS": "3", "parts-INITIAL_FORMS": "0"})

    changed = Item.objects.select_related("profile").get()
    assert material_of(changed) == kept


def test_bad_material_page_keeps_the_typing(owner: Client) -> None:
    page = owner.post("/materials/new/", MATERIAL | {"cas": "1-1-1", "density_g_per_ml": "9"})

    assert page.context["form"].errors == {"density_g_per_ml": ["It must be at most 5 g/mL."]}
    assert 'value="ARGANIA SPINOSA KERNEL OIL"' in page.content.decode()


def test_blend_that_does_not_add_up_is_said_above_the_form(owner: Client) -> None:
    page = owner.post(
        "/materials/new/", MATERIAL | {"parts-0-inci_name": "A", "parts-0-share": "5"}
    )

    assert page.context["form"].non_field_errors() == [
        "The parts of the blend add up to 5 %; they must add up to exactly 100 %."
    ]
    assert not Item.objects.exists()


def test_packaging_page_keeps_packaging(owner: Client) -> None:
    owner.post("/materials/new/packaging/", {"code": "TIN-60", "name": "Tin", "is_active": "on"})

    item = Item.objects.get()
    assert (item.kind, item.unit) == (ItemKind.PACKAGING, Unit.EACH)
    assert owner.get(f"/materials/{item.code}/").status_code == 200


@pytest.mark.parametrize(
    "page",
    [
        "materials/new/",
        "materials/new/packaging/",
        "goods-in/suppliers/new/",
        "goods-in/certificates/new/",
        "goods-in/new/",
    ],
)
def test_form_has_its_frame_and_one_primary_button(owner: Client, page: str) -> None:
    html = owner.get(f"/{page}").content.decode()

    assert html.count('method="post"') == 1
    assert html.count('name="csrfmiddlewaretoken"') == 1
    assert html.count("btn-primary") == 1


def test_melting_range_is_entered_and_shown(owner: Client) -> None:
    # Beeswax melts at 62 to 65 °C (USP 32).
    typed = {"melting_from_c": "62", "melting_to_c": "65,0"}

    page = owner.post("/materials/new/", MATERIAL | typed, follow=True)

    assertContains(page, "62 to 65\u202f°C")


def test_melting_range_upside_down_is_explained_and_the_typing_kept(owner: Client) -> None:
    typed = {"melting_from_c": "65", "melting_to_c": "62.5"}

    page = owner.post("/materials/new/", MATERIAL | typed)

    assertContains(page, "A melting range goes upwards: 65 °C is above 62.5 °C. Swap the two.")
    assertContains(page, 'value="62.5"')
