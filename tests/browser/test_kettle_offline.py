"""A batch under way reopens without the network, and shows nobody else's pages afterwards."""

from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.sessions.models import Session
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests import make
from tests.browser import stove
from tests.browser.conftest import until
from tests.browser.stove import SLOW_MS, at_the_stove, expect_in_the_book, key_in, record, weigh
from tests.kettle import build
from workshop.kettle.models import Batch, Weighing
from workshop.ledger.models import Posting

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def batch() -> Batch:
    version = build.soft_balm()
    for line in version.lines.all():
        make.lot(line.item, on_hand=100)
    began = timezone.now() - timedelta(hours=1)
    return build.batch(version, target_g="92.2", at=began)


@pytest.fixture
def tablet(browser: Browser, base_url: str) -> Iterator[BrowserContext]:
    context = browser.new_context(
        viewport={"width": 1024, "height": 768}, has_touch=True, base_url=base_url
    )
    yield stove.signed_in(context, base_url)
    context.close()


@pytest.fixture
def page(tablet: BrowserContext, batch: Batch) -> Page:
    page = at_the_stove(tablet, batch)
    stove.expect_kept(page)
    return page


def test_weigh_up_reopens_without_network_and_loses_nothing(
    tablet: BrowserContext, page: Page, batch: Batch
) -> None:
    tablet.set_offline(True)
    page.reload()
    before = timezone.now()
    weigh(page, "Solid oil", "74.6")
    page.wait_for_timeout(1100)  # so that the times taken can be told apart
    weigh(page, "Wax", "10.4")
    after = timezone.now()
    expect(page.locator('[data-part="words"]')).to_contain_text("Wax is kept here.")
    page.reload()
    expect(page.locator('[data-part="queue"]')).to_contain_text("2 readings kept here")
    expect(page.locator('[data-part="name"]')).to_have_text("Liquid oil")
    assert not Weighing.objects.exists()

    page.wait_for_timeout(1500)
    tablet.set_offline(False)
    expect_in_the_book(page, "74.6", "10.4")

    first, second = Posting.objects.filter(operation=batch.operation).order_by("pk")
    assert before <= first.at < second.at <= after
    assert second.at - first.at >= timedelta(seconds=1)


def test_what_reached_the_book_before_the_network_went_is_not_asked_for_again(
    tablet: BrowserContext, page: Page
) -> None:
    weigh(page, "Solid oil", "74.6")
    expect_in_the_book(page, "74.6")
    stove.expect_nothing_waits(page)

    tablet.set_offline(True)
    page.reload()

    expect(page.locator('[data-part="name"]')).to_have_text("Wax", timeout=SLOW_MS)
    expect(page.locator('[data-part="taken"]')).to_have_text(f"74.6{stove.NARROW}g")


def test_pages_that_need_the_network_say_so_and_weighing_goes_on(
    tablet: BrowserContext, page: Page
) -> None:
    tablet.set_offline(True)
    page.get_by_role("link", name="Pour").tap()

    expect(page.locator('[data-part="words"]')).to_have_text(
        "That page needs the network. Weighing goes on without it."
    )
    weigh(page, "Solid oil", "74.6")
    expect(page.locator('[data-part="name"]')).to_have_text("Wax")


def test_reading_taken_back_before_it_was_sent_stands_struck_through(
    tablet: BrowserContext, page: Page
) -> None:
    tablet.set_offline(True)
    weigh(page, "Solid oil", "77.4")
    page.get_by_role("link", name="Undo last").tap()
    expect(page.locator('[data-part="taken"]')).to_have_text(f"0.0{stove.NARROW}g")
    weigh(page, "Solid oil", "74.6")
    expect(page.locator('[data-part="words"]')).to_contain_text("74.6")
    page.reload()
    expect(page.locator('[data-part="queue"]')).to_contain_text("1 reading kept here")

    tablet.set_offline(False)
    expect_in_the_book(page, "74.6")
    stove.expect_nothing_waits(page)

    taken_back = Weighing.objects.exclude(pk__in=Weighing.objects.effective()).get()
    assert taken_back.posting.moved == Decimal("77.4")
    reversal = Posting.objects.get(corrects=taken_back.posting)
    assert reversal.reason == "before it reached the book"


def test_signing_out_forgets_the_pages(page: Page) -> None:
    page.goto("/account/")
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="Sign in to the book")).to_be_visible()

    until(page, "async () => !(await caches.has('kettle-pages'))")


def test_page_asked_for_after_the_session_ended_is_forgotten(page: Page, batch: Batch) -> None:
    Session.objects.all().delete()
    page.goto(stove.address(batch))
    expect(page.get_by_role("heading", name="Sign in to the book")).to_be_visible()

    until(page, "async () => !(await caches.has('kettle-pages'))")


def test_only_pages_are_kept_never_what_the_book_answers(
    tablet: BrowserContext, page: Page, batch: Batch
) -> None:
    key_in(page, "74.6")
    record(page)
    expect_in_the_book(page, "74.6")
    page.goto(f"/kettle/{batch.operation.reference}/")
    page.goto("/kettle/")

    kept = page.evaluate(
        """async () => (await (await caches.open("kettle-pages")).keys())
             .map((request) => `${request.method} ${new URL(request.url).pathname}`)"""
    )
    assert kept == [f"GET {stove.address(batch)}"]


@pytest.fixture
def slip(tablet: BrowserContext, page: Page) -> Page:
    """746 g typed for 74.6 g without the network, of a lot of 100 g; another reading behind it."""
    tablet.set_offline(True)
    weigh(page, "Solid oil", "746")
    weigh(page, "Wax", "10.4")
    tablet.set_offline(False)
    expect(page.get_by_role("dialog")).to_contain_text("is said to hold 100.0", timeout=SLOW_MS)
    assert stove.in_the_book() == []
    return page


def test_figure_that_can_hardly_be_true_is_put_back_before_the_maker(slip: Page) -> None:
    slip.get_by_role("button", name="Do not record it").tap()

    expect(slip.locator('[data-part="name"]')).to_have_text("Solid oil")
    expect(slip.locator("#figure")).to_have_value("746.0")
    expect_in_the_book(slip, "10.4")
    slip.locator("#figure").fill("74.6")
    record(slip)
    expect_in_the_book(slip, "10.4", "74.6")


def test_figure_that_can_hardly_be_true_is_recorded_at_a_second_yes(slip: Page) -> None:
    slip.reload()  # the question outlives the page
    slip.get_by_role("button", name="Record it", exact=True).tap()

    expect_in_the_book(slip, "746", "10.4")
    stove.expect_nothing_waits(slip)
