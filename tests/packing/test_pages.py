"""Packing pages: what a person sees, types and is told."""

from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests import make
from tests.packing import build
from workshop.core.models import Role
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, Lot, Posting, Status
from workshop.packing.models import PackingRun, Product

pytestmark = pytest.mark.django_db


@pytest.fixture
def packer(client: Client) -> Client:
    client.force_login(make.user(Role.PACKER))
    return client


@pytest.fixture
def owner(client: Client) -> Client:
    client.force_login(make.user(Role.OWNER))
    return client


def text(response: Any) -> str:
    """The page's words with single spaces."""
    return " ".join(response.content.decode().split())


def filled_in(product: Product, bulk: Lot, tins: Lot, **values: Any) -> dict[str, Any]:
    return {
        "token": "form-1",
        "units": "40",
        "spoiled": "0",
        "made_on": make.DAY.isoformat(),
        "note": "",
        "confirmed": "",
        f"lot_{bulk.pk}": "2400",
        f"lot_{tins.pk}": "40",
        **values,
    }


def test_pack_form_proposes_the_lot_that_expires_first(packer: Client) -> None:
    product = build.product()
    late = make.lot(product.bulk, on_hand=5000, best_before=make.day(months=24))
    early = make.lot(product.bulk, on_hand=1000, best_before=make.day(months=12))
    tins = make.lot(product.container, on_hand=30)

    page = packer.get(reverse("packing:pack", args=[product.item.code]), {"units": "40"})

    form = page.context["form"]
    fields = [row[:2] for row in (*form.bulk_rows, *form.container_rows)]
    proposed = {lot.pk: field.value() for lot, field in fields}
    assert proposed == {early.pk: "1000", late.pk: "1400", tins.pk: "30"}
    assert f"The book is 10 short of {product.container}." in text(page)


def test_packing_leads_to_the_run_that_shows_what_was_written(packer: Client) -> None:
    product = build.product()
    bulk, tins = make.lot(product.bulk, on_hand=2500), make.lot(product.container, on_hand=100)

    page = packer.post(
        reverse("packing:pack", args=[product.item.code]),
        filled_in(product, bulk, tins),
        follow=True,
    )

    lot = Lot.objects.get(item=product.item)
    assert page.redirect_chain[-1][0] == reverse("packing:run", args=[lot.origin.reference])
    assert f"Lot {lot}: 40 units of Hand salve 60 g packed" in text(page)
    assert "60.0 g by the bulk that was taken" in text(page)


def test_unusual_weight_is_asked_about_and_typing_stays(packer: Client) -> None:
    product = build.product()
    bulk, tins = make.lot(product.bulk, on_hand=5000), make.lot(product.container, on_hand=100)
    address = reverse("packing:pack", args=[product.item.code])
    typed = filled_in(product, bulk, tins, note="thick today", **{f"lot_{bulk.pk}": "2550"})

    asked = packer.post(address, typed)

    assert "That is more than 5 % away: correct it, or tick that it is right." in text(asked)
    assert 'value="thick today"' in text(asked)
    assert not PackingRun.objects.exists()
    packer.post(address, {**typed, "confirmed": "on"})
    assert ledger.on_hand(bulk) == 2450


def test_bulk_the_book_does_not_know_of_is_asked_about_with_a_tick_and_a_reason(
    packer: Client,
) -> None:
    product = build.product()
    bulk, tins = make.lot(product.bulk, on_hand=2000), make.lot(product.container, on_hand=100)
    address = reverse("packing:pack", args=[product.item.code])
    typed = filled_in(product, bulk, tins, note="thick today")
    assert 'type="hidden" name="is_short"' in text(packer.get(address, {"units": "40"}))

    asked = packer.post(address, typed)

    assert f"Lot {bulk} is 400.0 g short: the book knows of 2 000.0 g" in text(asked)
    assert 'type="checkbox" name="is_short"' in text(asked)
    assert 'value="thick today"' in text(asked)
    ticked = packer.post(address, {**typed, "is_short": "on", "short_why": " "})
    assert "Say how there can be more than the book knows of." in text(ticked)
    assert not PackingRun.objects.exists()
    why = {"is_short": "on", "short_why": "the pot of yesterday was scraped out"}
    page = packer.post(address, {**typed, **why}, follow=True)
    assert ledger.on_hand(bulk) == -400
    assert "Below zero: the pot of yesterday was scraped out" in text(page)


@pytest.mark.parametrize(
    ("field", "typed", "sentence"),
    [
        ("units", "many", "Enter a whole number."),
        ("units", "-1", "Ensure this value is greater than or equal to 1."),
        ("made_on", make.iso(37), "The day of packing lies in the future."),
        ("made_on", "soon", "That is not a day of the calendar. Write it as "),
        ("spoiled", "2", "40 units and 2 spoiled need 42 containers, and 40 are entered."),
        ("units", "20", "That is more than 5 % away"),
        ("units", "80", "That is implausibly little: correct the units or the grams."),
        ("bulk", "a lot", "“a lot” is not a number."),
        ("bulk", "1e99", "is not a number that can be kept."),
        ("tins", "40.5", "Give at most 0 decimal places."),
    ],
)
def test_bad_figures_are_refused_with_a_sentence(
    packer: Client, field: str, typed: str, sentence: str
) -> None:
    product = build.product()
    bulk, tins = make.lot(product.bulk, on_hand=5000), make.lot(product.container, on_hand=100)
    rows = {"bulk": f"lot_{bulk.pk}", "tins": f"lot_{tins.pk}"}
    # Twenty units ask for twenty tins too.
    more = {rows["tins"]: "20"} if (field, typed) == ("units", "20") else {}
    more |= {rows["tins"]: "80"} if (field, typed) == ("units", "80") else {}

    page = packer.post(
        reverse("packing:pack", args=[product.item.code]),
        filled_in(product, bulk, tins, **more, **{rows.get(field, field): typed}),
    )

    assert page.status_code == 200
    assert sentence in text(page)
    assert not Posting.objects.filter(lot__item=product.item).exists()


def test_lot_put_on_hold_meanwhile_is_named_beside_its_field(packer: Client) -> None:
    product = build.product()
    bulk, tins = make.lot(product.bulk, on_hand=5000), make.lot(product.container, on_hand=100)
    ledger.set_lot_status(bulk, Status.ON_HOLD, by=make.user(), at=make.NOON, reason="smell")

    page = packer.post(
        reverse("packing:pack", args=[product.item.code]), filled_in(product, bulk, tins)
    )

    assert page.context["form"].errors == {
        f"lot_{bulk.pk}": [f"Lot {bulk} is on hold; only a released lot is packed."]
    }


def test_product_is_entered_with_a_fill_in_ounces(owner: Client) -> None:
    bulk, tin = make.item(ItemKind.BULK), make.item(ItemKind.PACKAGING)

    page = owner.post(
        reverse("packing:new-product"),
        {
            "code": "BALM-H",
            "name": "Soft balm",
            "bulk": bulk.pk,
            "container": tin.pk,
            "fill_g": "1/2 oz",
            "unit_name": "tin",
            "is_active": "on",
        },
        follow=True,
    )

    product = Product.objects.get()
    assert product.fill_g == Decimal("14.175")  # NIST SP 811: 1 oz is 28.349 523 g
    assert "Soft balm: one tin holds 14.175 g" in text(page)


@pytest.mark.parametrize(
    ("field", "typed", "sentence"),
    [
        ("code", "salve 60", "Use capital letters, digits, dots and hyphens only."),
        ("fill_g", "a pinch", "a pinch"),
        ("fill_g", "0", "must be above zero"),
        ("gtin", "9521234543214", "it would have to be 3"),
        ("gtin", "09521234543213", "A 14-digit GTIN identifies a carton"),
        ("bulk", "0", "Select a valid choice."),
        ("shelf_life_months", "0", "greater than or equal to 1"),
    ],
)
def test_bad_product_is_refused_and_typing_stays(
    owner: Client, field: str, typed: str, sentence: str
) -> None:
    bulk, tin = make.item(ItemKind.BULK), make.item(ItemKind.PACKAGING)
    values = {
        "code": "BALM-H",
        "name": "Soft balm",
        "bulk": bulk.pk,
        "container": tin.pk,
        "fill_g": "14 g",
        "unit_name": "tin",
    }

    page = owner.post(reverse("packing:new-product"), {**values, field: typed})

    errors = page.context["form"].errors
    assert list(errors) == [field]
    assert sentence in errors[field][0]
    assert 'value="Soft balm"' in text(page)
    assert not Product.objects.exists()


def test_changing_a_product_shows_what_it_was(owner: Client) -> None:
    product = build.product(cautions="For external use only.")

    page = owner.get(reverse("packing:change-product", args=[product.item.code]))

    assert 'value="60 g"' in text(page)
    assert "For external use only." in text(page)


def test_owner_releases_and_packer_holds(client: Client) -> None:
    lot = build.packed()
    client.force_login(make.user(Role.OWNER))
    address = reverse("packing:release", args=[lot.code])
    asked = client.post(address)
    released = client.post(address, {"reason": "weighed on paper"}, follow=True)
    client.force_login(make.user(Role.PACKER))
    held = client.post(
        reverse("packing:hold", args=[lot.code]), {"reason": "two low fills"}, follow=True
    )

    assert "0 of the 12 packs that the sampling plan asks for are weighed." in text(asked)
    assert f"Lot {lot} of Hand salve 60 g is released: weighed on paper" in text(released)
    assert f"Lot {lot} is on hold: two low fills" in text(held)


def test_release_refused_says_so_on_the_run_page(owner: Client) -> None:
    lot = build.packed()
    bulk = lot.origin.postings.first().lot  # type: ignore[union-attr]  # it took bulk first
    ledger.set_lot_status(bulk, Status.REJECTED, by=make.user(), at=make.NOON, reason="rancid")

    page = owner.post(reverse("packing:release", args=[lot.code]), follow=True)

    assert f"Lot {bulk} ({bulk.item}) went into it and is rejected" in text(page)


def test_rejecting_without_a_reason_asks_for_one(owner: Client) -> None:
    lot = build.packed()

    page = owner.post(reverse("packing:reject", args=[lot.code]), {"reason": " "})

    assert page.context["form"].errors == {"reason": ["This field is required."]}


def test_lot_below_zero_is_pointed_out_on_its_run(owner: Client) -> None:
    product = build.product()
    bulk = make.lot(product.bulk, on_hand=2000)
    lot = build.packed(product, 40, bulk=bulk, is_short=True, short_why="melted a crumb")

    page = owner.get(reverse("packing:run", args=[lot.origin.reference]))

    assert "stands at −400.0 g on the book: more was taken than it knew of." in text(page)


@pytest.mark.parametrize("name", ["home", "awaiting", "runs", "products"])
def test_list_page_asks_as_often_for_one_row_as_for_many(owner: Client, name: str) -> None:
    def fill(rows: int) -> None:
        for _ in range(rows):
            number = Product.objects.count()
            product = build.product(code=f"P-{number}", name=f"Salve {number}")
            build.packed(product, bulk=make.lot(product.bulk, on_hand=5000))

    fill(1)
    address = reverse(f"packing:{name}")
    owner.get(address)
    with CaptureQueriesContext(connection) as one:
        owner.get(address)
    fill(4)
    with CaptureQueriesContext(connection) as many:
        owner.get(address)

    assert len(one) == len(many)


def test_product_page_lists_its_runs(owner: Client) -> None:
    product = build.product()
    lot = build.packed(product)

    page = owner.get(reverse("packing:product", args=[product.item.code]))

    assert lot.origin.reference in text(page)
    assert "60.0 g of" in text(page)


@pytest.mark.parametrize(
    "name",
    [
        "product",
        "pack",
        "change-product",
        "run",
        "finish",
        "stop",
        "paper",
        "weigh",
        "release",
        "hold",
        "retain",
    ],
)
@pytest.mark.parametrize("code", ["NOPE-1", "ß" * 300])
def test_unknown_code_is_not_found(owner: Client, name: str, code: str) -> None:
    address = reverse(f"packing:{name}", args=[code])

    page = owner.post(address) if name == "weigh" else owner.get(address)

    assert page.status_code == 404


def test_first_step_says_how_many_units_the_stock_gives(packer: Client) -> None:
    product = build.product()
    make.lot(product.bulk, on_hand=2500)
    make.lot(product.bulk, on_hand=900, status=Status.QUARANTINE)
    make.lot(product.container, on_hand=100)

    page = packer.get(reverse("packing:pack", args=[product.item.code]))

    assert "bulk for 41 units, 100 of Tin, 60 g." in text(page)
    assert page.context["units_form"]["units"].value() == 41


def test_run_taken_back_shows_the_reason(owner: Client) -> None:
    lot = build.packed()
    address = reverse("packing:take-back", args=[lot.origin.reference])

    asked = text(owner.get(address))
    page = text(owner.post(address, {"reason": "four tins, not forty"}, follow=True))

    assert "2 400.0 g of" in asked
    assert f"{lot.origin.reference} is taken back: all it took is back in its lots." in page
    assert "by Owner: four tins, not forty" in page
    assert "nothing put out" in page
    assert "also with the emptied lot" in page
