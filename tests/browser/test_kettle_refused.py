"""What is refused at the stove says so where the eye is: at the top, in sight, in focus."""

from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests import make
from tests.browser import stove
from tests.kettle import build
from workshop.kettle.models import Batch

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def batch() -> Batch:
    """Many steps, so that the form of a check lies below the fold."""
    steps = [
        {"text": f"Step {number}: melt, stir and wait.", "phase": "A", "to_c": Decimal(76)}
        for number in range(9)
    ]
    shares = [(make.item(name="Oil"), "80"), (make.item(name="Wax"), "20")]
    return build.batch(build.version(shares, steps=steps), at=timezone.now() - timedelta(hours=1))


@pytest.fixture(params=[(1024, 768), (768, 1024)], ids=["landscape", "portrait"])
def tablet(
    request: pytest.FixtureRequest, browser: Browser, base_url: str
) -> Iterator[BrowserContext]:
    width, height = request.param
    context = browser.new_context(
        viewport={"width": width, "height": height}, has_touch=True, base_url=base_url
    )
    yield stove.signed_in(context, base_url)
    context.close()


def expect_refused(page: Page, sentence: str) -> None:
    refused = page.get_by_role("alert")
    expect(refused).to_contain_text("Not saved yet.")
    expect(refused).to_contain_text(sentence)
    expect(refused).to_be_in_viewport(ratio=1)
    expect(refused).to_be_focused()


def test_temperature_beyond_its_limit_is_plainly_not_accepted(
    tablet: BrowserContext, batch: Batch
) -> None:
    page = tablet.new_page()
    page.goto(f"/kettle/{batch.operation.reference}/check/")
    page.get_by_label("Step").select_option(index=1)
    page.get_by_label("Temperature, °C").fill("91")
    page.get_by_role("button", name="Record the check").tap()

    expect_refused(page, "It is outside the limits of the step")
    assert not batch.checks.exists()
    page.get_by_role("alert").get_by_role("link").tap()
    expect(page.get_by_label("Note")).to_be_in_viewport()
    expect(page.get_by_label("Temperature, °C")).to_have_value("91")


def test_pour_without_a_yield_is_plainly_not_accepted(tablet: BrowserContext, batch: Batch) -> None:
    for line in batch.lines.all():
        build.weigh(line, at=timezone.now())
    page = tablet.new_page()
    page.goto(f"/kettle/{batch.operation.reference}/pour/")
    page.get_by_role("button", name="Record the pour").tap()

    expect_refused(page, "Weigh what was poured")
