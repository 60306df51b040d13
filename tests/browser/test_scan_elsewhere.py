"""A scan on any other page goes to the box at the top, or into a field that takes a code."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests import make
from tests.browser import stove
from tests.browser.keys import HAND_MS, press_each, scan, type_in
from tests.kettle import build
from workshop.ledger.models import Item, Lot

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def lot() -> Lot:
    return make.lot(make.item(name="Beeswax"))


@pytest.fixture
def desk(browser: Browser, base_url: str) -> Iterator[BrowserContext]:
    context = browser.new_context(viewport={"width": 1280, "height": 800}, base_url=base_url)
    yield stove.signed_in(context, base_url, build.owner())
    context.close()


@pytest.fixture
def page(desk: BrowserContext) -> Page:
    return desk.new_page()


def expect_found(page: Page, lot: Lot) -> None:
    expect(page.get_by_role("heading", level=1)).to_contain_text(str(lot))


@pytest.mark.parametrize("focus", ["nothing", "button", "link", "figure", "select", "box"])
def test_scan_finds_its_lot_whatever_has_the_focus(page: Page, lot: Lot, focus: str) -> None:
    page.goto("/kettle/plan/")
    places = {
        "button": page.get_by_role("button", name="Plan the batch"),
        "link": page.get_by_role("link", name="Dispatch"),
        "figure": page.get_by_label("All that goes into the kettle"),
        "select": page.get_by_label("Formula"),
        "box": page.get_by_label("Scan or type a code"),
    }
    if focus in places:
        places[focus].focus()

    scan(page, lot.code)

    expect_found(page, lot)


def test_scan_with_something_typed_leaves_the_typing_and_asks(page: Page, lot: Lot) -> None:
    page.goto("/kettle/plan/")
    grams = page.get_by_label("All that goes into the kettle")
    grams.fill("2300")

    scan(page, lot.code)

    expect(grams).to_have_value("2300")
    box = page.get_by_label("Scan or type a code")
    expect(box).to_have_value(lot.code)
    expect(box).to_be_focused()
    expect(page.get_by_role("status")).to_contain_text("press Enter to leave it")

    page.wait_for_timeout(300)  # past a second Enter of the same scan
    press_each(page, ["Enter"], HAND_MS)
    expect_found(page, lot)


def test_scan_into_a_field_for_a_code_fills_it_and_sends_nothing(page: Page, lot: Lot) -> None:
    batch = build.batch()
    page.goto(f"/kettle/{batch.operation.reference}/add/")
    field = page.get_by_label("Lot")
    field.fill("half a co")
    field.focus()

    scan(page, lot.code)

    expect(field).to_have_value(lot.code)
    expect(page.get_by_role("heading", level=1)).to_contain_text("Add something unplanned")
    expect(page.get_by_role("alert")).to_have_count(0)


def test_letters_and_enter_at_the_speed_of_a_hand_send_the_form(page: Page) -> None:
    page.goto("/formulas/bulk/new/")
    page.get_by_label("Name").fill("Salve")
    page.locator("#id_code").focus()

    type_in(page, "salve")
    press_each(page, ["Enter"], HAND_MS)

    expect(page.get_by_role("status")).to_contain_text("Bulk item SALVE")
    assert Item.objects.filter(code="SALVE").exists()


def test_scan_before_signing_in_sends_no_password(
    browser: Browser, base_url: str, lot: Lot
) -> None:
    context = browser.new_context(base_url=base_url)
    page = context.new_page()
    page.goto("/sign-in/")
    name = page.locator("[name=username]")
    name.fill("tamsin")
    name.focus()

    scan(page, lot.code)

    page.wait_for_timeout(300)
    expect(name).to_have_value("tamsin")
    expect(page.locator(".invalid-feedback, [role=alert]")).to_have_count(0)
    context.close()
