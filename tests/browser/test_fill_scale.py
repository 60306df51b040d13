"""Fill control with a scale on a cable, by a stand-in for the port: what scales send, replayed."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests import make
from tests.browser import stove
from tests.browser.conftest import until
from tests.packing import build
from workshop.core.models import Role
from workshop.packing.models import FillSample, PackingRun, Reading

pytestmark = pytest.mark.django_db(transaction=True)
PORT = Path(__file__).with_name("port.js")
LAPTOP, PHONE = (1280, 800), (390, 844)


@pytest.fixture
def run() -> PackingRun:
    build.scale("0.1", name="Bench scale")
    return build.run()


@pytest.fixture
def page(
    request: pytest.FixtureRequest, browser: Browser, base_url: str, run: PackingRun
) -> Iterator[Page]:
    width, height = getattr(request, "param", LAPTOP)
    context: BrowserContext = browser.new_context(
        viewport={"width": width, "height": height}, base_url=base_url
    )
    context.add_init_script(path=PORT)
    page = stove.signed_in(context, base_url, make.user(Role.PACKER)).new_page()
    page.goto(f"/packing/runs/{run.operation.reference}/")
    yield page
    context.close()


def plug_in(page: Page, **settings: str) -> None:
    page.get_by_role("button", name="Read from a scale on a cable").click()
    for name, value in settings.items():
        page.locator(f"#cable-{name}").fill(value)
    page.get_by_role("button", name="Choose the cable and read from it").click()
    expect(page.get_by_role("button", name="Take this reading")).to_be_visible()


def send(page: Page, *texts: str) -> None:
    for text in texts:
        page.evaluate("text => lab.send(text)", text)


def take(page: Page) -> None:
    page.get_by_role("button", name="Take this reading").click()


def expect_weights(page: Page, text: str) -> None:
    expect(page.get_by_label("Weights, g")).to_have_value(text)


@pytest.mark.parametrize("page", [LAPTOP, PHONE], ids=["laptop", "phone"], indirect=True)
def test_steady_reading_goes_behind_the_last_weight_at_a_press(page: Page, run: PackingRun) -> None:
    plug_in(page)
    send(page, "US,GS,+  60.9 g\r\n")
    take(page)
    expect(page.get_by_text("The scale is still moving.")).to_be_visible()
    send(page, "ST,GS,+  60.2 g\r\n")
    take(page)
    send(page, "ST,GS,+   0.0 g\r\n", "ST,GS,+   0.0604", "kg\r\n")
    take(page)
    expect_weights(page, "60.2 60.4")

    page.get_by_role("button", name="Note the weights").click()

    expect(page.get_by_role("status").first).to_contain_text("2 weighed")
    weighed = FillSample.objects.filter(run=run).order_by("place")
    assert [(one.kind, float(one.grams)) for one in weighed] == [
        (Reading.NET, 60.2),
        (Reading.NET, 60.4),
    ]
    expect(page.get_by_role("button", name="Take this reading")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_one_pack_is_not_taken_twice(page: Page) -> None:
    plug_in(page)
    send(page, "ST,GS,+  60.2 g\r\n")
    take(page)
    send(page, "ST,GS,+  60.3 g\r\n")
    take(page)

    expect(page.get_by_text("put the next one on the scale")).to_be_visible()
    expect_weights(page, "60.2")


def test_packs_are_taken_by_themselves_once_steady_and_nothing_else_is(page: Page) -> None:
    plug_in(page, equal="3")
    page.get_by_label("Take each pack by itself once it is steady").check()

    send(page, *["  0.1 g\r\n"] * 4)  # a crumb on the scale
    send(page, "  41.0 g\r\n", "  60.1 g\r\n", *["  60.2 g\r\n"] * 5)
    send(page, "\x00\ufffd#~~\r\n", "12.5 lb\r\n", "x" * 5000, "\r\n")
    send(page, *["  0.0 g\r\n"] * 3, "  59.9 g\r\n", *["  60.4 g\r\n"] * 3)
    send(page, *["  -13.2 g\r\n"] * 3, *["  60.4 g\r\n"] * 3)

    expect_weights(page, "60.2 60.4 60.4")


def test_empty_containers_are_taken_by_themselves_too(page: Page) -> None:
    plug_in(page)
    page.get_by_label("What the scale shows").select_option("empty")
    page.get_by_label("Take each pack by itself once it is steady").check()

    send(page, "ST,GS,+  14.1 g\r\n", "ST,GS,+  0.0 g\r\n", "ST,GS,+  14.3 g\r\n")

    expect_weights(page, "14.1 14.3")


def test_pulled_plug_is_said_and_what_was_taken_stays(page: Page) -> None:
    plug_in(page)
    send(page, "ST,GS,+  60.2 g\r\n")
    take(page)

    page.evaluate("lab.pull()")

    expect(page.get_by_text("The scale on the cable is gone: check its plug")).to_be_visible()
    expect_weights(page, "60.2")
    page.get_by_label("Weights, g").press("End")
    page.keyboard.type(" 60.5")
    page.evaluate("lab.plugIn()")
    expect(page.get_by_role("button", name="Take this reading")).to_be_visible()
    send(page, "ST,GS,+  60.1 g\r\n")
    take(page)
    expect_weights(page, "60.2 60.5 60.1")


def test_framing_error_leaves_the_reading_and_goes_on(page: Page) -> None:
    plug_in(page)
    send(page, "ST,GS,+  60.2 g\r\n")
    page.evaluate("lab.break()")
    page.wait_for_timeout(100)
    send(page, "7.2 g\r\n", "ST,GS,+  60.3 g\r\n")
    expect(page.locator('[data-part="reading"]')).to_have_text(f"60.3{stove.NARROW}g")


def test_ounces_become_grams_and_tare_is_sent(page: Page) -> None:
    plug_in(page, tare=r"T\r\n")
    # NIST SP 811, appendix B.8: an avoirdupois ounce is 28.349 523 125 g.
    send(page, "ST,GS,+  2.125 oz\r\n")
    take(page)
    expect_weights(page, "60.243")

    page.get_by_role("button", name="Tare").click()
    until(page, "lab.written.length > 0")
    assert page.evaluate("lab.written") == ["T\r\n"]


def test_typing_instead_lets_the_cable_go(page: Page) -> None:
    plug_in(page)
    page.get_by_role("button", name="Type instead").click()

    expect(page.get_by_role("button", name="Read from a scale on a cable")).to_be_visible()
    expect(page.get_by_label("Weights, g")).to_be_focused()
    page.reload()
    expect(page.get_by_role("button", name="Read from a scale on a cable")).to_be_visible()
