"""A reading that the book does not take is set aside in plain sight and holds nothing up."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, Page, Route, expect

from tests import make
from tests.browser import stove
from tests.browser.stove import NARROW, SLOW_MS, at_the_stove, expect_in_the_book, key_in, weigh
from tests.kettle import build
from workshop.kettle.models import Batch
from workshop.ledger.models import Lot, Status

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def batch() -> Batch:
    version = build.soft_balm()
    for line in version.lines.all():
        make.lot(line.item, on_hand=100)
    return build.batch(version, target_g="46.1", at=timezone.now() - timedelta(hours=1))


@pytest.fixture
def tablet(browser: Browser, base_url: str) -> Iterator[BrowserContext]:
    context = browser.new_context(
        viewport={"width": 1024, "height": 768},
        has_touch=True,
        base_url=base_url,
        service_workers="block",
    )
    yield stove.signed_in(context, base_url)
    context.close()


@pytest.fixture
def page(tablet: BrowserContext, batch: Batch) -> Page:
    return at_the_stove(tablet, batch)


def breaking_at(grams: str) -> Any:
    """A server that answers 500 to one reading."""

    def answer(route: Route) -> None:
        if route.request.method == "POST" and f"reading_g={grams}&" in (
            route.request.post_data or ""
        ):
            route.fulfill(status=500, body="broken")
        else:
            route.continue_()

    return answer


def test_reading_that_meets_a_500_lets_those_behind_it_pass(page: Page) -> None:
    page.route("**/weigh/", breaking_at("37.3"))
    weigh(page, "Solid oil", "37.3")
    expect(page.locator('[data-part="words"]')).to_have_text(
        f"Not in the book yet: 37.3{NARROW}g Solid oil from lot "
        f"{Lot.objects.get(item__name='Solid oil')}. It is kept here.",
        timeout=SLOW_MS,
    )
    weigh(page, "Wax", "5.2")
    weigh(page, "Liquid oil", "3.6")
    expect_in_the_book(page, "5.2", "3.6")

    page.unroute("**/weigh/")
    page.reload()
    page.get_by_role("button", name="1 not taken by the book").tap()
    expect(page.get_by_role("dialog")).to_contain_text("The book could not take it (error 500).")
    page.get_by_role("button", name="Try again").tap()

    expect_in_the_book(page, "5.2", "3.6", "37.3")
    stove.expect_nothing_waits(page)
    expect(page.locator('[data-part="aside"]')).to_be_hidden()


def both_refused(tablet: BrowserContext, page: Page) -> None:
    """Two readings without network, of which the book refuses the first for good."""
    tablet.set_offline(True)
    weigh(page, "Solid oil", "37.3")
    weigh(page, "Wax", "5.2")
    make.put(Lot.objects.get(item__name="Solid oil"), Status.ON_HOLD)
    tablet.set_offline(False)


def test_refused_reading_is_kept_on_a_list_and_those_behind_it_pass(
    tablet: BrowserContext, page: Page
) -> None:
    both_refused(tablet, page)

    expect_in_the_book(page, "5.2")
    aside = page.get_by_role("button", name="1 not taken by the book")
    expect(aside).to_be_visible(timeout=SLOW_MS)
    page.reload()
    aside.tap()
    expect(page.get_by_role("dialog")).to_contain_text("Solid oil")
    expect(page.get_by_role("dialog")).to_contain_text("is on hold")
    make.put(Lot.objects.get(item__name="Solid oil"), Status.RELEASED)
    page.get_by_role("button", name="Try again").tap()

    expect_in_the_book(page, "5.2", "37.3")


def test_reading_set_aside_is_discarded_by_two_touches_only(
    tablet: BrowserContext, page: Page
) -> None:
    both_refused(tablet, page)
    page.get_by_role("button", name="1 not taken by the book").tap()
    page.get_by_role("button", name="Discard").tap()
    page.get_by_role("button", name="Back to the scale").tap()
    page.get_by_role("button", name="1 not taken by the book").tap()
    page.get_by_role("button", name="Discard").tap()
    page.get_by_role("button", name="Touch again: it never went in").tap()

    expect(page.locator('[data-part="aside"]')).to_be_hidden()
    expect_in_the_book(page, "5.2")


def test_refused_reading_does_not_overwrite_the_figure_that_is_being_typed(
    tablet: BrowserContext, page: Page
) -> None:
    tablet.set_offline(True)
    weigh(page, "Solid oil", "37.3")
    key_in(page, "4.1")
    make.put(Lot.objects.get(item__name="Solid oil"), Status.ON_HOLD)
    tablet.set_offline(False)

    expect(page.get_by_role("button", name="1 not taken by the book")).to_be_visible(
        timeout=SLOW_MS
    )
    expect(page.locator('[data-part="name"]')).to_have_text("Wax")
    expect(page.locator("#figure")).to_have_value("4.1")
    expect_in_the_book(page)


def test_reading_of_another_batch_that_is_refused_is_not_lost(
    tablet: BrowserContext, page: Page, batch: Batch
) -> None:
    other = build.batch(batch.version, target_g="46.1", at=timezone.now() - timedelta(hours=1))
    tablet.set_offline(True)
    weigh(page, "Solid oil", "37.3")
    expect(page.locator('[data-part="words"]')).to_contain_text("is kept here")
    page.close()
    make.put(Lot.objects.get(item__name="Solid oil"), Status.ON_HOLD)
    tablet.set_offline(False)

    elsewhere = at_the_stove(tablet, other)
    elsewhere.get_by_role("button", name="1 not taken by the book").tap()

    expect(elsewhere.get_by_role("dialog")).to_contain_text(batch.operation.reference)
    expect_in_the_book(elsewhere)
