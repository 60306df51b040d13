"""One tablet, two makers: a reading belongs to whoever took it, not to whoever is signed in."""

from collections.abc import Iterator
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests import make
from tests.browser import stove
from tests.browser.stove import SLOW_MS, at_the_stove, expect_in_the_book, weigh
from tests.kettle import build
from workshop.core.models import Role, User
from workshop.kettle.models import Batch, Weighing

pytestmark = pytest.mark.django_db(transaction=True)
PASSWORD = "seven quiet kettles"


@pytest.fixture
def batch() -> Batch:
    version = build.soft_balm()
    for line in version.lines.all():
        make.lot(line.item, on_hand=100)
    began = timezone.now() - timedelta(hours=1)
    return build.batch(version, target_g="92.2", at=began)


@pytest.fixture
def tablet(browser: Browser, base_url: str) -> Iterator[BrowserContext]:
    for name in ("ana", "ben"):
        User.objects.create_user(name, password=PASSWORD, role=Role.MAKER)
    # A page that closes while Chromium plays at being offline is online for a moment, and sends:
    # so the page itself is cut off, and has no worker that would send for it.
    context = browser.new_context(
        viewport={"width": 1024, "height": 768},
        has_touch=True,
        base_url=base_url,
        service_workers="block",
    )
    context.set_default_timeout(SLOW_MS)
    yield context
    context.close()


def sign_in(page: Page, name: str) -> None:
    page.goto("/sign-in/")
    page.get_by_label("Username").fill(name)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("link", name=f"{name}, maker")).to_be_visible()


def sign_out(page: Page) -> None:
    page.goto("/account/")
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="Sign in to the book")).to_be_visible()


def cut_off(page: Page) -> None:
    """Nothing leaves this page any more, not even while it closes."""
    page.evaluate("() => { window.fetch = async () => { throw new TypeError('cut off'); }; }")


def makers() -> list[tuple[str, str]]:
    rows = Weighing.objects.select_related("posting__by").order_by("pk")
    return [(f"{row.posting.moved.normalize()}", row.posting.by.username) for row in rows]


def test_reading_kept_over_a_change_of_hands_is_booked_as_hers_once(
    tablet: BrowserContext, batch: Batch
) -> None:
    page = tablet.new_page()
    sign_in(page, "ana")
    page.close()
    page = at_the_stove(tablet, batch)
    cut_off(page)
    weigh(page, "Solid oil", "74.6")
    expect(page.locator('[data-part="words"]')).to_contain_text("is kept here.")
    page.close()

    desk = tablet.new_page()
    sign_out(desk)
    sign_in(desk, "ben")
    assert makers() == []
    desk.close()

    page = at_the_stove(tablet, batch)
    expect_in_the_book(page, "74.6")
    stove.expect_nothing_waits(page)
    weigh(page, "Wax", "10.4")
    expect_in_the_book(page, "74.6", "10.4")
    page.reload()
    stove.expect_nothing_waits(page)

    assert makers() == [("74.6", "ana"), ("10.4", "ben")]
    assert Weighing.objects.order_by("pk")[0].note == "sent when ben was signed in"


def test_page_left_open_still_weighs_for_the_one_it_names(
    tablet: BrowserContext, batch: Batch
) -> None:
    """Its band says Ana; that Ben signed in on another page changes nothing here."""
    desk = tablet.new_page()
    sign_in(desk, "ana")
    page = at_the_stove(tablet, batch)
    sign_out(desk)
    sign_in(desk, "ben")

    expect(page.get_by_role("link", name="ana, maker")).to_be_visible()
    weigh(page, "Solid oil", "74.6")
    expect_in_the_book(page, "74.6")

    assert makers() == [("74.6", "ana")]
