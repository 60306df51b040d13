"""The whole step fits the tablet whatever its words."""

from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, expect

from tests.browser import stove
from tests.browser.soap import SOAP, soap
from tests.browser.stove import at_the_stove
from tests.browser.test_stations import TYPEFACES, WATCH
from tests.kettle import build
from workshop.kettle.models import Batch
from workshop.ledger.models import Lot

pytestmark = pytest.mark.django_db(transaction=True)
# Nothing of the step may be cut, covered by another part or below the edge.
UNCUT = """() => {
    const parts = [...document.querySelectorAll(
        ".step:not([hidden]) :is(h1, p, select, input:not([type=hidden]), svg), .pad button, " +
        ".mind-box :is(p, button), .stove-acts .btn, .words, [aria-current] .num")]
      .filter((one) => one.checkVisibility() && one.textContent + one.tagName !== "P")
      .map((one) => [one, one.getBoundingClientRect()])
      .filter(([one, box]) => box.width && box.height);
    const cut = parts.filter(([one, box]) => box.left < 0 || box.top < 0 ||
        box.right > innerWidth + 0.5 || box.bottom > innerHeight + 0.5 ||
        ("P H1 BUTTON".includes(one.tagName) && one.scrollHeight > one.clientHeight + 1) ||
        (one.matches(".num") && box.right > one.closest("ol").getBoundingClientRect().right));
    const covered = parts.filter(([one, box]) => {
        const seen = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
        return seen && !one.contains(seen) && !seen.contains(one);
    });
    return [...cut, ...covered].map(([one]) => one.outerHTML.slice(0, 90));
}"""

# Whatever the scale should show stands within the step, clear of the keypad.
BEYOND_THE_STEP = """() => {
    const edge = document.querySelector("form.step").getBoundingClientRect().right;
    return [...document.querySelectorAll("form.step :is(b, select)")]
      .filter((one) => one.checkVisibility() && one.getBoundingClientRect().right > edge + 0.5)
      .map((one) => one.textContent.trim());
}"""


@pytest.fixture
def batch() -> Batch:
    return soap()


@pytest.fixture
def tablet(browser: Browser, base_url: str) -> Iterator[BrowserContext]:
    context = browser.new_context(
        viewport={"width": 1024, "height": 768}, has_touch=True, base_url=base_url
    )
    yield stove.signed_in(context, base_url)
    context.close()


@pytest.mark.parametrize("size", [(1024, 768), (768, 1024)], ids=["landscape", "portrait"])
def test_every_step_is_whole_whatever_its_names_and_cautions(
    tablet: BrowserContext, batch: Batch, size: tuple[int, int], tmp_path: Path
) -> None:
    page = at_the_stove(tablet, batch)
    page.set_viewport_size({"width": size[0], "height": size[1]})
    for row in range(len(SOAP)):
        page.locator(".order li a").nth(row).tap()
        expect(page.locator('[data-part="name"]')).to_have_text(SOAP[row][0])
        assert page.evaluate(UNCUT) == []
        assert page.evaluate("document.documentElement.scrollHeight <= innerHeight")

    page.locator(".order li a").nth(6).tap()
    page.locator("#figure").fill("820.05")
    page.locator('[data-part="record"]').tap()
    expect(page.locator('[data-part="words"]')).to_contain_text("shows steps of")
    assert page.evaluate(UNCUT) == []

    # Every caution is one touch away, the first one in sight without it.
    cautions = page.locator('[data-part="cautions"] p')
    expect(cautions.first).to_be_visible()
    page.locator('[data-part="more"]').tap()
    for caution in cautions.all():
        expect(caution).to_be_visible()
    assert [text[-1] for text in cautions.all_inner_texts()] == ["."] * cautions.count()
    page.get_by_role("button", name="Back to the scale").tap()
    expect(cautions.last).to_be_hidden()


@pytest.mark.parametrize("size", [(1024, 768), (768, 1024), (390, 844)])
def test_what_the_scale_should_show_stays_in_its_place(
    tablet: BrowserContext, batch: Batch, size: tuple[int, int]
) -> None:
    first = batch.lines.all()[0]
    build.weigh(first, "2952", lot=Lot.objects.get(item=first.item), at=timezone.now())
    page = at_the_stove(tablet, batch)
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.locator(".order li a").first.tap()
    expect(page.locator('[data-part="to-go"]')).to_have_text("nothing more")
    assert page.evaluate(BEYOND_THE_STEP) == []

    page.locator(".order li a").nth(1).tap()
    page.locator("#scale").select_option("total")
    expect(page.locator('[data-part="to-go"]')).to_contain_text("in all")
    assert page.evaluate(BEYOND_THE_STEP) == []


@pytest.mark.parametrize("size", [(1280, 800), (1024, 768), (390, 844)])
def test_nothing_moves_when_the_scripts_take_over(
    tablet: BrowserContext, batch: Batch, size: tuple[int, int]
) -> None:
    page = tablet.new_page()
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.add_init_script(WATCH)
    page.route(TYPEFACES, lambda route: route.abort())
    page.goto(f"/kettle/{batch.operation.reference}/weigh/")
    page.wait_for_load_state("networkidle")

    assert page.evaluate("window.moved") == []


def test_reading_typed_wrong_is_taken_back_in_two_touches(
    tablet: BrowserContext, batch: Batch
) -> None:
    first = batch.lines.all()[0]
    build.weigh(first, "3100", lot=Lot.objects.get(item=first.item), at=timezone.now())
    page = tablet.new_page()
    page.goto(f"/kettle/{batch.operation.reference}/mend/")
    page.get_by_role("link", name="Take the reading back").tap()

    reasons = page.get_by_role("radio")
    expect(page.get_by_role("radio", name="misread or mistyped")).to_be_checked()
    send = page.get_by_role("button", name="Take it back")
    for one in (*reasons.all(), page.get_by_label("In your own words"), send):
        expect(one).to_be_in_viewport(ratio=1)
    boxes = [box for one in page.locator(".form-check").all() if (box := one.bounding_box())]
    assert len(boxes) == reasons.count()
    assert min(box["height"] for box in boxes) >= 56
    columns = {box["x"] for box in boxes}
    for column in columns:
        rows = sorted(box["y"] for box in boxes if box["x"] == column)
        assert all(b - a >= 56 + 12 for a, b in pairwise(rows))
    send.tap()
    stove.expect_in_the_book(page)


def test_weigh_up_four_times_as_large_scrolls_one_way(tablet: BrowserContext, batch: Batch) -> None:
    """1280 pixels at 400 % are 320 wide. Source: WCAG 2.2, 1.4.10 (reflow)."""
    page = at_the_stove(tablet, batch)
    page.set_viewport_size({"width": 320, "height": 400})

    assert page.evaluate("document.documentElement.scrollWidth") == 320
