"""A receipt as quick as the paper: names typed in part, one certificate, codes scanned."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from tests import make
from tests.goods_in import build
from tests.goods_in.test_pages import NEW, a_line, a_page, sentences
from workshop.core.models import Role
from workshop.goods_in.models import Receipt, ReceiptLine
from workshop.ledger.models import Item, ItemKind

pytestmark = pytest.mark.django_db
GTIN = "09521234543213"
# GS1 General Specifications: (01) the goods, (17) expiry, (310n) net weight in kg, (10) lot.
CODE = f"(01){GTIN}(17)991231(3102)002500(10)AB-7"


@pytest.fixture
def owner(client: Client) -> Client:
    client.force_login(make.user(Role.OWNER))
    return client


@pytest.fixture
def maker(client: Client) -> Client:
    client.force_login(make.user(Role.MAKER))
    return client


def received() -> list[tuple[str, str, bool]]:
    lines = ReceiptLine.objects.select_related("lot__item")
    return [(line.lot.item.name, line.supplier_lot, line.is_organic) for line in lines]


def row(place: int, said: str, **values: Any) -> dict[str, Any]:
    told = {"item": said, "supplier_lot": f"S{place}", "quantity_as_written": "5 kg", **values}
    return {f"lines-{place}-{name}": value for name, value in told.items()}


def test_part_of_a_name_is_enough_where_one_thing_has_it(maker: Client) -> None:
    build.material("Coconut oil")
    build.material("Cocoa butter")

    maker.post(NEW, a_page(build.supplier(), row(0, "coco oil"), all_conform="on"))

    assert received() == [("Coconut oil", "S0", False)]


def test_part_of_two_names_asks_which(maker: Client) -> None:
    build.material("Coconut oil")
    build.material("Cocoa butter")

    page = maker.post(NEW, a_page(build.supplier(), row(0, "coco"), all_conform="on"))

    assert sentences(page) == ["“coco” can be Cocoa butter, Coconut oil. Write more of the name."]
    assert 'value="coco"' in page.content.decode()


def test_two_things_of_one_name_are_told_apart_by_their_code(maker: Client) -> None:
    one, other = build.material("Shea butter"), build.material("Shea butter")

    asked = maker.post(NEW, a_page(build.supplier(), row(0, "Shea butter"), all_conform="on"))
    assert f"Shea butter ({one.code})" in sentences(asked)[0]

    said = f"Shea butter ({other.code})"
    maker.post(NEW, a_page(build.supplier(), row(0, said), all_conform="on"))
    assert ReceiptLine.objects.get().lot.item == other


def test_owner_takes_a_usual_material_in_with_its_first_lot(owner: Client) -> None:
    sent = a_page(build.supplier(), row(0, "Sunflower oil", quantity_as_written="4 L"))

    for _ in range(2):  # sent twice, it comes in once
        owner.post(NEW, {**sent, "all_conform": "on"})

    item = Item.objects.get(kind=ItemKind.MATERIAL)
    assert (item.name, item.profile.inci_name) == (
        "Sunflower oil",
        "Helianthus Annuus (Sunflower) Seed Oil",
    )
    assert received() == [("Sunflower oil", "S0", False)]


def test_refused_delivery_enters_no_material(owner: Client) -> None:
    sent = a_page(build.supplier(), row(0, "Sunflower oil"), row(1, "Shea butter", supplier_lot=""))

    owner.post(NEW, sent)

    assert not Item.objects.exists()


def test_maker_enters_no_material(maker: Client) -> None:
    page = maker.post(NEW, a_page(build.supplier(), row(0, "Sunflower oil"), all_conform="on"))

    assert sentences(page) == [
        "“Sunflower oil” is not in the book. An owner enters it under Materials."
    ]


def test_one_certificate_makes_organic_what_it_covers(maker: Client) -> None:
    of, oil, wax = build.supplier(), build.material("Olive oil"), build.material("Candelilla")
    tins = build.packaging()
    paper = build.certificate(of, [oil], valid_to=timezone.localdate())
    rows = (
        row(0, "Olive oil"),
        row(1, "Candelilla"),
        row(2, tins.name, quantity_as_written="144", supplier_lot=""),
    )

    maker.post(NEW, a_page(of, *rows, all_conform="on", certificate=paper.pk, delivery_note="N-7"))

    assert received() == [
        ("Olive oil", "S0", True),
        (wax.name, "S1", False),
        (tins.name, "N-7", False),
    ]


def test_lot_that_is_not_organic_says_so_in_its_row(maker: Client) -> None:
    of, oil = build.supplier(), build.material("Olive oil")
    paper = build.certificate(of, [oil], valid_to=timezone.localdate())
    rows = row(0, "Olive oil"), row(1, "Olive oil", organic="no")

    maker.post(NEW, a_page(of, *rows, all_conform="on", certificate=paper.pk))

    assert received() == [("Olive oil", "S0", True), ("Olive oil", "S1", False)]


def test_certificate_that_covers_nothing_is_refused_where_it_was_chosen(maker: Client) -> None:
    of = build.supplier()
    build.material("Olive oil")
    paper = build.certificate(of, [], valid_to=timezone.localdate())

    page = maker.post(NEW, a_page(of, row(0, "Olive oil"), all_conform="on", certificate=paper.pk))

    assert page.context["form"].errors == {
        "certificate": [f"{paper} covers none of these lots. Choose another one, or none."]
    }


def test_certificate_of_another_supplier_is_refused_once_for_all_rows(maker: Client) -> None:
    oil = build.material("Olive oil")
    paper = build.certificate(build.supplier(), [oil], valid_to=timezone.localdate())
    rows = row(0, "Olive oil"), row(1, "Olive oil")

    page = maker.post(NEW, a_page(build.supplier(), *rows, all_conform="on", certificate=paper.pk))

    assert [len(told) for told in page.context["form"].errors.values()] == [1]
    assert "was not issued to" in sentences(page)[0]
    assert not Receipt.objects.exists()


def test_one_lot_that_does_not_conform_keeps_its_own_ticks(maker: Client) -> None:
    build.material("Olive oil")
    amiss = row(1, "Olive oil", is_apart="on", look_is_good="on", checks_note="Lid loose.")

    maker.post(NEW, a_page(build.supplier(), row(0, "Olive oil"), amiss, all_conform="on"))

    assert [line.not_good for line in ReceiptLine.objects.all()] == [[], ["seal", "smell"]]


def test_row_left_out_is_not_judged(maker: Client) -> None:
    build.material("Olive oil")
    rows = row(0, "Olive oil"), row(1, "nothing known", is_left_out="on")

    maker.post(NEW, a_page(build.supplier(), *rows, all_conform="on"))

    assert received() == [("Olive oil", "S0", False)]


def test_code_of_a_container_fills_a_row(maker: Client) -> None:
    build.material("Olive oil")
    heard = maker.get("/goods-in/new/label/", {"code": CODE}).json()
    assert heard["values"] == {
        "supplier_gtin": GTIN,
        "item": "",
        "supplier_lot": "AB-7",
        "makers_expiry": "2099-12-31",
        "quantity_as_written": "25 kg",
    }
    assert "is new here" in heard["said"]

    told = {name: value for name, value in heard["values"].items() if value}
    maker.post(NEW, a_page(build.supplier(), row(0, "Olive oil", **told), all_conform="on"))
    line = ReceiptLine.objects.get()
    assert (line.supplier_lot, line.makers_expiry) == ("AB-7", date(2099, 12, 31))

    again = maker.get("/goods-in/new/label/", {"code": f"01{GTIN}10AB-8"}).json()
    assert again["values"]["item"] == "Olive oil"


def test_code_scanned_into_the_name_is_read_without_a_script(maker: Client) -> None:
    of, oil = build.supplier(), build.material("Olive oil")
    build.line(oil, of=of, supplier_gtin=GTIN)
    sent = row(0, CODE, supplier_lot="")

    maker.post(NEW, a_page(of, sent, all_conform="on"))

    assert received()[1:] == [("Olive oil", "AB-7", False)]


def test_container_never_seen_asks_what_is_in_it(maker: Client) -> None:
    page = maker.post(NEW, a_page(build.supplier(), row(0, CODE), all_conform="on"))

    assert sentences(page) == [
        f"No container with the number {GTIN} came in yet. Write what is in it."
    ]


def test_code_that_is_none_fills_nothing(maker: Client) -> None:
    heard = maker.get("/goods-in/new/label/", {"code": "(01)09521234543214"}).json()

    assert heard["values"] == {}
    assert "check digit" in heard["said"]


def test_delivery_like_the_last_one_asks_for_lots_and_dates_only(maker: Client) -> None:
    of, oil = build.supplier(), build.material("Olive oil")
    paper = build.certificate(of, [oil], valid_to=timezone.localdate() + timedelta(days=9))
    values: dict[str, Any] = {
        "certificate": paper,
        "is_organic": True,
        "makers_expiry": date(2099, 1, 1),
    }
    earlier = build.receipt(build.arrived(oil, quantity_as_written="25 kg", **values), of=of)

    assert f"?like={earlier}" in maker.get(NEW).content.decode()
    page = maker.get(NEW, {"like": str(earlier)})

    head, rows = page.context["form"], page.context["lines"].forms
    assert (head["supplier"].value(), head["certificate"].value()) == (of.pk, paper.pk)
    first = {name: rows[0][name].value() for name in rows[0].fields}
    assert first["item"] == "Olive oil"
    assert first["quantity_as_written"] == "25 kg"
    assert not first["supplier_lot"]
    assert not first["makers_expiry"]
    assert not rows[1]["item"].value()


def test_reading_proposes_the_date_of_the_materials_own_life(maker: Client) -> None:
    build.material("Olive oil", shelf_life_months=12)
    asked = {"item": "Olive oil", "quantity": "25 kg", "received_on": "2026-11-05"}

    heard = maker.get("/goods-in/new/reading/", asked).json()

    assert heard["said"] == (
        "read as 25\u202f000.0\u202fg; best before 5 Nov 2027 if its label gives no date"
    )


def test_page_begins_with_the_supplier_it_came_from(owner: Client) -> None:
    build.supplier()
    of = build.supplier()

    page = owner.get(NEW, {"supplier": of.pk})

    assert f'<option value="{of.pk}" selected>' in page.content.decode()


def test_rows_fit_forty_lots_in_the_same_number_of_queries(
    maker: Client, django_assert_max_num_queries: Any
) -> None:
    build.material("Olive oil")
    of = build.supplier()
    rows = [
        a_line(place, build.material(f"Oil {place}"), quantity_as_written="") for place in range(40)
    ]

    with django_assert_max_num_queries(10):
        maker.post(NEW, a_page(of, *rows, **{"lines-TOTAL_FORMS": 40}))
