"""The whole step fits the tablet whatever its words; what it weighs on the wire; how it reads."""

from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, expect

from tests import make
from tests.browser import stove
from tests.browser.stove import SLOW_MS, at_the_stove, expect_in_the_book
from tests.kettle import build
from workshop.goods_in.models import Constituency, Profile
from workshop.kettle.models import Batch

pytestmark = pytest.mark.django_db(transaction=True)
FIRST_LOAD_BYTES = 60_000
# Eleven lines of a made-up soap with the longest names a label would carry.
SOAP = (
    ("Olive oil, refined, organic, cold-stored", "36"),
    ("Coconut oil, deodorised, fair-trade pool", "18"),
    ("Palm kernel flakes, mass balance", "10"),
    ("Shea butter, unrefined, from the Wend valley", "5"),
    ("Castor oil, first pressing", "4"),
    ("Cocoa butter drops, deodorised", "3"),
    ("Sodium hydroxide, pearls, 99 %", "10"),
    ("Water, purified", "10.5"),
    ("Lavender essential oil, 40/42, high altitude", "2"),
    ("Rosemary leaf extract in sunflower oil", "1"),
    ("Tocopherol, mixed, of sunflower", "0.5"),
)
# Nothing of the step may be cut, covered by another part or below the edge.
UNCUT = """() => {
    const parts = [...document.querySelectorAll(
        ".step:not([hidden]) :is(h1, p, select, input:not([type=hidden]), svg), .pad button, " +
        ".mind-box :is(p, button), .stove-acts .btn, .words, .now .num")]
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


@pytest.fixture
def soap() -> Batch:
    items = [make.item(name=name) for name, _ in SOAP]
    lye, lavender = items[6], items[8]
    Profile.objects.create(
        item=lye,
        cas="1310-73-2",
        caution="Weigh into a dry plastic jug with a lid; spilled pearls draw water and burn "
        "wood, skin and aluminium.",
    )
    Profile.objects.create(
        item=lavender,
        kind=Constituency.FRAGRANCE,
        caution="May cause an allergic skin reaction; keep it off the skin undiluted.",
    )
    for item in items:
        make.lot(item, on_hand=9000, best_before=timezone.localdate() + timedelta(days=200))
    fan = "The steam of lye rises when it meets water: stand upwind, open the window, fan on."
    steps = [
        {"text": "Melt", "from_c": Decimal(65), "to_c": Decimal(80), "caution": fan},
        {"text": "Cool", "from_c": Decimal(40), "to_c": Decimal(45), "keep_water_out": True},
    ]
    shares = [(item, share) for item, (_, share) in zip(items, SOAP, strict=True)]
    began = timezone.now() - timedelta(hours=1)
    return build.batch(build.version(shares, steps=steps), target_g="8200", at=began)


@pytest.fixture
def tablet(browser: Browser, base_url: str) -> Iterator[BrowserContext]:
    context = browser.new_context(
        viewport={"width": 1024, "height": 768}, has_touch=True, base_url=base_url
    )
    yield stove.signed_in(context, base_url)
    context.close()


@pytest.mark.parametrize("size", [(1024, 768), (768, 1024)], ids=["landscape", "portrait"])
def test_every_step_is_whole_whatever_its_names_and_cautions(
    tablet: BrowserContext, soap: Batch, size: tuple[int, int], tmp_path: Path
) -> None:
    page = at_the_stove(tablet, soap)
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


def test_first_load_is_light_and_the_next_line_needs_no_request(tablet: BrowserContext) -> None:
    """Six lines, nothing compressed, as it comes without a proxy in front."""
    items = [
        make.item(name=name) for name in ("Olive oil", "Shea", "Wax", "Castor", "Coconut", "E")
    ]
    for item in items:
        make.lot(item, on_hand=900)
    shares = list(zip(items, ("40", "25", "15", "12", "6", "2"), strict=True))
    batch = build.batch(build.version(shares), at=timezone.now() - timedelta(hours=1))
    page = tablet.new_page()
    wire = tablet.new_cdp_session(page)
    wire.send("Network.enable")
    wire.send("Network.setCacheDisabled", {"cacheDisabled": True})
    bytes_of: list[int] = []
    asked: list[str] = []
    wire.on("Network.loadingFinished", lambda done: bytes_of.append(int(done["encodedDataLength"])))
    page.on("request", lambda request: asked.append(request.url))

    page.goto(stove.address(batch))
    expect(page.get_by_role("group", name="Keypad")).to_be_visible(timeout=SLOW_MS)
    page.wait_for_load_state("load")

    assert not [url for url in asked if "htmx" in url]
    assert 0 < sum(bytes_of) <= FIRST_LOAD_BYTES

    tablet.set_offline(True)
    stove.weigh(page, "Olive oil", "400")
    expect(page.locator('[data-part="name"]')).to_have_text("Shea")
    tablet.set_offline(False)
    expect_in_the_book(page, "400")
