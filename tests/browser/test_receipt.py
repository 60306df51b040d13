"""A receipt of four lots, typed from the paper without a mouse, and scanned from the containers."""

from collections.abc import Iterator
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests import make
from tests.browser import stove
from tests.browser.by_ear import Keyboard
from tests.browser.conftest import until
from tests.browser.keys import GROUP_SEPARATOR, scan
from tests.goods_in import build
from workshop.core.models import Role
from workshop.goods_in.models import Certificate, Receipt, ReceiptLine, Supplier

pytestmark = pytest.mark.django_db(transaction=True)
MOST_FIELDS = 14
GTIN = "09521234543213"
WIDTHS = [(1280, 800), (390, 844)]


@pytest.fixture(params=WIDTHS, ids=["laptop", "phone"])
def page(request: pytest.FixtureRequest, browser: Browser, base_url: str) -> Iterator[Page]:
    width, height = request.param
    context: BrowserContext = browser.new_context(
        viewport={"width": width, "height": height}, base_url=base_url
    )
    yield stove.signed_in(context, base_url, make.user(Role.MAKER)).new_page()
    context.close()


@pytest.fixture
def certificate() -> Certificate:
    """Two suppliers, four things, and a certificate that covers two of them."""
    of = build.supplier("Ostrey Oils Cooperative")
    build.supplier("Low Fen Packaging")
    oils = [build.material("Coconut oil"), build.material("Sunflower oil")]
    build.material("Beeswax, yellow")
    build.packaging()
    return build.certificate(of, oils, valid_to=timezone.localdate() + timedelta(days=30))


class Hands:
    """Keys alone; each value that is typed or chosen counts as a field."""

    def __init__(self, page: Page) -> None:
        self.page, self.fields = page, 0
        self.keyboard = Keyboard(page)

    def goes_to(self, name: str) -> None:
        for _ in range(60):
            if self.page.evaluate("document.activeElement.name") == name:
                return
            self.keyboard.tabs()
        raise AssertionError(f"no way by the Tab key to {name}")

    def types(self, name: str, text: str) -> None:
        self.goes_to(name)
        self.page.keyboard.type(text)
        self.fields += 1

    def ticks(self, name: str) -> None:
        self.goes_to(name)
        self.page.keyboard.press("Space")
        self.fields += 1


def fits(page: Page) -> bool:
    return bool(page.evaluate("document.documentElement.scrollWidth <= innerWidth"))


def test_four_lots_take_at_most_fourteen_fields_and_no_mouse(
    page: Page, certificate: Certificate
) -> None:
    page.goto("/goods-in/new/")
    hands = Hands(page)
    hands.types("supplier", "Ostrey")
    hands.types("certificate", "Evergrain")
    for row, (said, lot, quantity) in enumerate(
        (("coco", "C-1", "25 kg"), ("sunfl", "S-2", "3 x 5 kg"), ("beesw", "B-3", "2 lb"))
    ):
        hands.types(f"lines-{row}-item", said)
        hands.types(f"lines-{row}-supplier_lot", lot)
        hands.types(f"lines-{row}-quantity_as_written", quantity)
    hands.types("lines-3-item", "tin")
    hands.types("lines-3-quantity_as_written", "144")
    hands.ticks("all_conform")
    expect(page.locator("[data-said]").first).to_contain_text("25\u202f000.0\u202fg")
    expect(page.locator("[name='lines-0-item']")).to_have_value("Coconut oil")
    assert fits(page)
    page.get_by_role("button", name="Receive these lots").press("Enter")

    expect(page.get_by_role("heading", level=1)).to_contain_text("Ostrey Oils Cooperative")
    assert hands.fields <= MOST_FIELDS
    lines = ReceiptLine.objects.order_by("pk").select_related("lot__item", "posting")
    assert [(line.lot.item.name, int(line.posting.quantity)) for line in lines[:3]] == [
        ("Coconut oil", 25000),
        ("Sunflower oil", 15000),
        ("Beeswax, yellow", 907),  # 2 lb, NIST SP 811: 0.453 592 37 kg to the pound
    ]
    assert [line.is_organic for line in lines] == [True, True, False, False]
    assert [line.not_good for line in lines] == [[]] * 4


def test_fault_keeps_what_was_typed(page: Page, certificate: Certificate) -> None:
    page.goto("/goods-in/new/")
    hands = Hands(page)
    hands.types("supplier", "Ostrey")
    hands.types("lines-0-item", "coconut oil")
    hands.types("lines-0-supplier_lot", "C-1")
    hands.types("lines-0-quantity_as_written", "25 kgs of it")
    hands.ticks("all_conform")
    page.get_by_role("button", name="Receive these lots").press("Enter")

    expect(page.locator("[name='lines-0-quantity_as_written']")).to_be_focused()
    expect(page.locator("[name='lines-0-quantity_as_written']")).to_have_value("25 kgs of it")
    expect(page.locator("[name='lines-0-supplier_lot']")).to_have_value("C-1")
    expect(page.locator("[name=all_conform]")).to_be_checked()
    assert fits(page)
    assert not Receipt.objects.exists()


def test_codes_of_containers_fill_rows_and_the_second_drum_adds_up(page: Page) -> None:
    of: Supplier = build.supplier()
    oil = build.material("Coconut oil")
    build.material("Beeswax, yellow")
    build.line(oil, of=of, supplier_gtin=GTIN)
    code = f"01{GTIN}17991231310200250010AB-7"
    page.goto("/goods-in/new/")
    first, second = (
        {name: page.locator(f"[name='lines-{row}-{name}']") for name in NAMES} for row in (0, 1)
    )

    scan(page, code)
    expect(first["item"]).to_have_value("Coconut oil")
    expect(first["supplier_lot"]).to_have_value("AB-7")
    expect(first["quantity_as_written"]).to_have_value("25 kg")
    expect(first["makers_expiry"]).to_have_value("2099-12-31")
    expect(first["quantity_as_written"]).to_be_focused()

    page.wait_for_timeout(300)
    scan(page, code)
    expect(first["quantity_as_written"]).to_have_value("2 × 25 kg")
    expect(page.locator("[data-said]").first).to_contain_text("50\u202f000.0\u202fg")

    second["item"].focus()
    scan(page, f"0109521234543220{'10WX-1'}{GROUP_SEPARATOR}3100000005")
    expect(second["supplier_lot"]).to_have_value("WX-1")
    expect(second["quantity_as_written"]).to_have_value("5 kg")
    expect(second["item"]).to_be_focused()
    expect(page.get_by_role("status").filter(has_text="new here")).to_be_visible()
    page.keyboard.type("beesw")
    page.keyboard.press("Tab")
    expect(second["item"]).to_have_value("Beeswax, yellow")
    page.locator("[name=all_conform]").check()
    page.get_by_role("button", name="Receive these lots").press("Enter")

    expect(page.get_by_role("heading", level=1)).to_contain_text(of.name)
    gtins = list(ReceiptLine.objects.order_by("pk").values_list("supplier_gtin", flat=True))
    assert gtins == [GTIN, GTIN, "09521234543220"]


NAMES = ("item", "supplier_lot", "quantity_as_written", "makers_expiry")


def test_another_row_is_there_by_the_enter_key(page: Page) -> None:
    build.supplier()
    page.goto("/goods-in/new/")
    last = page.locator("[name='lines-3-makers_expiry']")
    last.focus()
    page.keyboard.press("Enter")

    until(page, "document.activeElement.name === 'lines-4-item'")
    expect(page.locator("[name='lines-TOTAL_FORMS']")).to_have_value("5")
