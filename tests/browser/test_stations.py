"""Every station and list: light on the wire, still while it loads, and open to everybody."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from tests import make
from tests.browser import stove
from tests.browser.test_kettle_axe import broken_rules
from tests.browser.wire import weighed, without_typefaces
from tests.front.test_today import something_of_everything
from tests.kettle.served import served
from tests.trace import rooms
from workshop.core.models import Role
from workshop.ledger.models import ItemKind, Lot

pytestmark = pytest.mark.django_db(transaction=True)
MOST_BYTES = 60_000
SIZES = [(1280, 800), (768, 1024), (390, 844)]
PAGES = [
    "/", "/goods-in/", "/goods-in/suppliers/", "/goods-in/certificates/", "/materials/",
    "/kettle/", "/curing/", "/packing/", "/packing/products/", "/packing/runs/",
    "/packing/awaiting/", "/packing/samples/", "/labels/", "/dispatch/", "/dispatch/customers/",
    "/stock/", "/formulas/", "/formulas/bulk/", "/trace/", "/aftersales/complaints/",
    "/aftersales/recalls/", "/aftersales/drills/", "/audit/", "/audit/history/",
    "/organic/packs/", "/costs/deliveries/", "/set-up/", "/set-up/people/", "/set-up/looks/",
]  # fmt: skip
# What moved without anybody's touch. Source: Layout Instability (W3C draft), as Chromium has it.
# What the usual meter of pages shows as 0 with its three decimals is none: on a loaded machine one
# button may come to its place a moment late.
WATCH = """
window.moved = [];
new PerformanceObserver((list) => {
    for (const one of list.getEntries()) {
        const said = one.sources.map(({ node }) => node?.outerHTML?.slice(0, 90) ?? "text");
        if (!one.hadRecentInput && one.value >= 0.0005) window.moved.push(`${one.value}: ${said}`);
    }
}).observe({ type: "layout-shift", buffered: true });
"""
WIDTH = "document.documentElement.scrollWidth"
# On a loaded machine a typeface may come while the page is first drawn, and a test sees that
# instead of what scripts do: without it only they can move anything.
TYPEFACES = "**/static/type/*"


@pytest.fixture
def house() -> None:
    """A little of everything, and more of what is listed than one page shows."""
    whole = rooms.House()
    rooms.recall(whole.wax)
    for _ in range(3):
        something_of_everything()
    for number in range(60):
        make.lot(make.item(ItemKind.MATERIAL, name=f"Oil of a long name, number {number}"))


@pytest.fixture(params=SIZES, ids=["desk", "tablet", "phone"])
def page(request: pytest.FixtureRequest, browser: Browser, base_url: str) -> Iterator[Page]:
    width, height = request.param
    context = browser.new_context(viewport={"width": width, "height": height}, base_url=base_url)
    yield stove.signed_in(context, base_url, make.user(Role.OWNER)).new_page()
    context.close()


def test_no_page_breaks_a_rule_of_access(page: Page, house: None) -> None:
    """By axe-core, the usual rules of WCAG 2.2 A and AA."""
    assert [rule for address in PAGES for rule in broken_rules(page, address)] == []


def test_nothing_moves_while_a_page_loads_and_four_times_as_large_it_scrolls_one_way(
    page: Page, house: None
) -> None:
    """1280 pixels at 400 % are 320 wide. Source: WCAG 2.2, 1.4.10 (reflow)."""
    page.add_init_script(WATCH)
    page.route(TYPEFACES, lambda route: route.abort())
    moved, too_wide = {}, {}
    for address in PAGES:
        page.goto(address)
        page.wait_for_load_state("networkidle")
        if found := page.evaluate("window.moved"):
            moved[address] = found
        if usual := page.viewport_size:
            page.set_viewport_size({"width": 320, "height": 400})
            if (wide := page.evaluate(WIDTH)) > 320:
                too_wide[address] = wide
            page.set_viewport_size(usual)

    assert (moved, too_wide) == ({}, {})


@pytest.fixture
def desk(browser: Browser) -> Iterator[BrowserContext]:
    with served() as (_, port):
        address = f"http://127.0.0.1:{port}"
        context = browser.new_context(viewport={"width": 1280, "height": 800}, base_url=address)
        yield stove.signed_in(context, address, make.user(Role.OWNER))
        context.close()


def test_no_page_is_above_sixty_kilobytes_on_first_load(house: None, desk: BrowserContext) -> None:
    page = desk.new_page()
    packed = Lot.objects.filter(item__kind=ItemKind.PRODUCT)[0]
    pages = [*PAGES, f"/labels/{packed.code}/", f"/trace/{packed.code}/"]
    sizes = {address: without_typefaces(weighed(page, address)) for address in pages}

    assert {address: size for address, size in sizes.items() if size > MOST_BYTES} == {}
    assert min(sizes.values()) > 5_000  # something came
