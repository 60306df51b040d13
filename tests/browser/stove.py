"""What tests of the weigh-up share: a tablet signed in, hands on the keypad, a look in the book."""

from decimal import Decimal

from django.conf import settings
from django.test import Client
from playwright.sync_api import BrowserContext, Page, expect

from tests import make
from tests.browser.conftest import SLOW_MS as SLOW_MS
from tests.browser.conftest import until
from workshop.core.models import Role, User
from workshop.kettle.models import Batch, Weighing

NARROW = "\u202f"
# The page is kept, and so is each file that it is made of.
IS_KEPT = """async () => {
    await navigator.serviceWorker.ready;
    const pages = await (await caches.open("kettle-pages")).keys();
    const names = await caches.keys();
    const files = await (await caches.open(names.find((name) => name !== "kettle-pages"))).keys();
    return Boolean(navigator.serviceWorker.controller) && pages.length > 0 && files.length > 12;
}"""


def signed_in(context: BrowserContext, base_url: str, person: User | None = None) -> BrowserContext:
    client = Client()
    client.force_login(person or make.user(Role.MAKER))
    value = client.cookies[settings.SESSION_COOKIE_NAME].value
    context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": value, "url": base_url}])
    context.set_default_timeout(SLOW_MS)
    return context


def address(batch: Batch) -> str:
    return f"/kettle/{batch.operation.reference}/weigh/"


def at_the_stove(context: BrowserContext, batch: Batch) -> Page:
    """The weigh-up of the batch, its script at work."""
    page = context.new_page()
    page.goto(address(batch))
    expect(page.get_by_role("group", name="Keypad")).to_be_visible(timeout=SLOW_MS)
    return page


def key_in(page: Page, digits: str) -> None:
    pad = page.get_by_role("group", name="Keypad")
    for digit in digits:
        pad.locator(f'[data-key="{digit}"]').tap()


def record(page: Page) -> None:
    page.locator('[data-part="record"]').tap()
    expect(page.locator("#figure")).to_have_value("")


def weigh(page: Page, name: str, grams: str) -> None:
    expect(page.locator('[data-part="name"]')).to_have_text(name, timeout=SLOW_MS)
    key_in(page, grams)
    record(page)


def in_the_book() -> list[Decimal]:
    return [row.posting.moved for row in Weighing.objects.effective().order_by("pk")]


def expect_in_the_book(page: Page, *grams: str) -> None:
    wanted = [Decimal(each) for each in grams]
    for _ in range(SLOW_MS // 100):
        if in_the_book() == wanted:
            return
        page.wait_for_timeout(100)
    assert in_the_book() == wanted


def expect_nothing_waits(page: Page) -> None:
    expect(page.locator('[data-part="queue"]')).to_have_text("", timeout=SLOW_MS)


def expect_kept(page: Page) -> None:
    """The worker has the page in hand: from now on, being offline holds for what it asks too."""
    until(page, IS_KEPT)
