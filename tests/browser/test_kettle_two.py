"""Two tablets on one batch, an over-pour, timers: what the book answers is put before the maker."""

import re
from collections.abc import Callable, Iterator
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests import make
from tests.browser import stove
from tests.browser.stove import NARROW, SLOW_MS, at_the_stove, expect_in_the_book, weigh
from tests.kettle import build
from workshop.kettle.models import Batch
from workshop.ledger.models import Lot

pytestmark = pytest.mark.django_db(transaction=True)
Tablet = Callable[[], BrowserContext]


@pytest.fixture
def batch() -> Batch:
    version = build.soft_balm()
    for line in version.lines.all():
        make.lot(line.item, on_hand=100)
    began = timezone.now() - timedelta(hours=1)
    return build.batch(version, target_g="92.2", at=began)


@pytest.fixture
def tablet(browser: Browser, base_url: str) -> Iterator[Tablet]:
    contexts: list[BrowserContext] = []

    def another() -> BrowserContext:
        contexts.append(
            browser.new_context(
                viewport={"width": 1024, "height": 768},
                has_touch=True,
                base_url=base_url,
                service_workers="block",
            )
        )
        return stove.signed_in(contexts[-1], base_url)

    yield another
    for context in contexts:
        context.close()


def test_reading_of_another_tablet_shows_within_two_seconds(tablet: Tablet, batch: Batch) -> None:
    watching = tablet()
    watching.clock.install()
    here, there = at_the_stove(watching, batch), at_the_stove(tablet(), batch)
    watching.clock.pause_at(timezone.now() + timedelta(minutes=1))
    weigh(there, "Solid oil", "74.6")
    expect_in_the_book(there, "74.6")

    watching.clock.run_for(2000)

    expect(here.locator("[data-line]").first).to_contain_text("✓ 74.6")


def both_weigh_the_oil(tablet: Tablet, batch: Batch) -> Page:
    """One tablet records the oil while the other, without network, weighs it as well."""
    context = tablet()
    page = at_the_stove(context, batch)
    context.set_offline(True)
    line = batch.lines.all()[0]
    build.weigh(line, "74.6", lot=Lot.objects.get(item=line.item), at=timezone.now())
    weigh(page, "Solid oil", "74.6")
    context.set_offline(False)
    expect(page.get_by_role("dialog")).to_contain_text("Somebody weighed it", timeout=SLOW_MS)
    expect_in_the_book(page, "74.6")
    return page


def test_line_weighed_on_two_tablets_is_asked_about_and_may_be_dropped(
    tablet: Tablet, batch: Batch
) -> None:
    page = both_weigh_the_oil(tablet, batch)
    page.get_by_role("button", name="Do not record it").tap()

    expect(page.locator('[data-part="words"]')).to_have_text(
        f"74.6{NARROW}g Solid oil is not recorded."
    )
    stove.expect_nothing_waits(page)
    expect_in_the_book(page, "74.6")


def test_line_weighed_on_two_tablets_goes_in_twice_when_it_did(
    tablet: Tablet, batch: Batch
) -> None:
    page = both_weigh_the_oil(tablet, batch)
    page.get_by_role("button", name="Record it", exact=True).tap()

    stove.expect_nothing_waits(page)
    expect_in_the_book(page, "74.6", "74.6")


def test_over_pour_is_offered_a_way_on_as_the_next_act(tablet: Tablet, batch: Batch) -> None:
    page = at_the_stove(tablet(), batch)
    weigh(page, "Solid oil", "78.4")

    expect(page.get_by_role("heading", level=1)).to_contain_text(
        f"3.8{NARROW}g too much Solid oil", timeout=SLOW_MS
    )
    way_on = page.get_by_role("link", name="How to correct it")
    expect(way_on).to_have_attribute("href", f"/kettle/{batch.operation.reference}/mend/")
    expect(page.locator(".primary:visible")).to_have_count(1)
    page.reload()
    expect(way_on).to_be_visible()

    page.get_by_role("link", name="Continue weighing").tap()
    expect(page.locator('[data-part="name"]')).to_have_text("Wax")
    expect(way_on).to_be_hidden()


def test_timer_runs_and_is_plain_to_see_when_it_is_up(tablet: Tablet, batch: Batch) -> None:
    page = at_the_stove(tablet(), batch)
    step = batch.version.steps.first()
    began = timezone.now() - timedelta(seconds=50)
    batch.timers.create(name="Melt", minutes=1, step=step, started_at=began, started_by=make.user())

    timers = page.locator('[data-part="timers"]')
    expect(timers).to_contain_text(re.compile("Melt 0:[01]"), timeout=SLOW_MS)
    expect(timers).to_contain_text("Now: Melt, 0:0", timeout=SLOW_MS)
    expect(page.locator(".stove.alarm")).to_be_visible()


def test_scale_that_is_not_tared_is_read_as_a_running_total(tablet: Tablet, batch: Batch) -> None:
    page = at_the_stove(tablet(), batch)
    weigh(page, "Solid oil", "74.6")
    page.locator("#scale").select_option("total")
    expect(page.locator('[data-part="to-go"]')).to_have_text(f"85.0{NARROW}g in all")
    weigh(page, "Wax", "85.0")

    expect_in_the_book(page, "74.6", "10.4")
