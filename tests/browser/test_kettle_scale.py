"""A scale on a cable, by a stand-in for the port that replays what scales send."""

from collections.abc import Iterator
from datetime import timedelta
from fractions import Fraction
from pathlib import Path

import pytest
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests import make
from tests.browser import stove
from tests.browser.conftest import until
from tests.browser.stove import expect_in_the_book
from tests.kettle import build
from workshop.kettle.models import Batch

pytestmark = pytest.mark.django_db(transaction=True)
PORT = Path(__file__).with_name("port.js")
LANDSCAPE, PORTRAIT = (1024, 768), (768, 1024)
STEADY = "ST,GS,+  74.6 g\r\n"


@pytest.fixture
def batch() -> Batch:
    version = build.soft_balm()
    for line in version.lines.all():
        make.lot(line.item, on_hand=100)
    began = timezone.now() - timedelta(hours=1)
    return build.batch(version, target_g="92.2", at=began)


@pytest.fixture
def page(
    request: pytest.FixtureRequest, browser: Browser, base_url: str, batch: Batch
) -> Iterator[Page]:
    width, height = getattr(request, "param", LANDSCAPE)
    context: BrowserContext = browser.new_context(
        viewport={"width": width, "height": height},
        has_touch=True,
        base_url=base_url,
        service_workers="block",
    )
    context.add_init_script(path=PORT)
    page = stove.at_the_stove(stove.signed_in(context, base_url), batch)
    yield page
    context.close()


def plug_in(page: Page, **settings: str) -> None:
    page.locator("#scale").select_option("cable")
    for name, value in settings.items():
        page.locator(f"#cable-{name}").fill(value)
    page.get_by_role("button", name="Choose the cable and read from it").tap()
    expect(page.get_by_role("button", name="Type instead")).to_be_visible()


def send(page: Page, *texts: str) -> None:
    for text in texts:
        page.evaluate("text => lab.send(text)", text)


def tap_record(page: Page) -> None:
    page.locator('[data-part="record"]').tap()


@pytest.mark.parametrize(
    "page", [LANDSCAPE, PORTRAIT], ids=["landscape", "portrait"], indirect=True
)
def test_steady_scale_fills_the_figure_and_the_keypad_goes(page: Page) -> None:
    plug_in(page, baud="4800")
    assert page.evaluate("lab.opened") == [{"baudRate": 4800}]
    expect(page.get_by_role("group", name="Keypad")).to_be_hidden()

    send(page, "US,GS,+  12.1 g\r\n")
    expect(page.locator("#figure")).to_have_value("12.1")
    tap_record(page)
    expect(page.locator('[data-part="words"]')).to_have_text("The scale is still moving.")

    send(page, "ST,GS,+   0.0746", "kg\r\n")
    expect(page.locator("#figure")).to_have_value("74.6")
    tap_record(page)

    expect_in_the_book(page, "74.6")
    fits = "document.documentElement.scrollHeight <= innerHeight && scrollY === 0"
    assert page.evaluate(fits)


def test_jitter_is_not_recorded_until_equal_readings_come(page: Page) -> None:
    plug_in(page, equal="3")
    send(page, "  74.4 g\r\n", "  74.7 g\r\n  74.6 g\r\n", "  74.6 g\r\n")
    tap_record(page)
    expect(page.locator('[data-part="words"]')).to_have_text("The scale is still moving.")

    send(page, "  74.6 g\r\n")
    expect(page.locator("#figure.moving")).to_have_count(0)
    tap_record(page)

    expect_in_the_book(page, "74.6")


def test_garbage_and_framing_errors_leave_the_last_reading(page: Page) -> None:
    plug_in(page)
    send(
        page, STEADY, "\x00\ufffd#~~\r\n", "ST,GS,+  3a7.9 g\r\n", "x" * 5000, "\r\n", "12.5 lb\r\n"
    )
    page.evaluate("lab.break()")
    expect(page.locator("#figure")).to_have_value("74.6")

    page.wait_for_timeout(100)
    send(page, "4.5 g\r\n", "ST,GS,+  74.5 g\r\n")
    expect(page.locator("#figure")).to_have_value("74.5")


def test_pulled_plug_is_said_and_typing_goes_on(page: Page) -> None:
    plug_in(page)
    send(page, "US,GS,+  12.1 g\r\n")
    expect(page.locator("#figure")).to_have_value("12.1")

    page.evaluate("lab.pull()")
    expect(page.locator('[data-part="words"]')).to_have_text(
        "The scale on the cable is gone: check its plug, or type what it shows."
    )
    expect(page.locator("#figure")).to_have_value("")
    stove.weigh(page, "Solid oil", "74.6")
    expect_in_the_book(page, "74.6")

    page.evaluate("lab.plugIn()")
    expect(page.get_by_role("group", name="Keypad")).to_be_hidden()


def test_scale_that_is_not_tared_counts_on_from_the_reading_before(page: Page) -> None:
    plug_in(page)
    send(page, STEADY)
    tap_record(page)
    expect(page.locator('[data-part="name"]')).to_have_text("Wax")
    send(page, STEADY)
    page.wait_for_timeout(750)  # an empty figure within 0.7 s is the second half of a double tap
    tap_record(page)
    expect(page.locator('[data-part="words"]')).to_have_text("The scale shows nothing to record.")

    send(page, "ST,GS,+  85.0 g\r\n")
    expect(page.locator("#figure")).to_have_value("10.4")
    tap_record(page)
    send(page, "ST,GS,+   0.0 g\r\n", "ST,NT,+   7.2 g\r\n")
    expect(page.locator("#figure")).to_have_value("7.2")
    tap_record(page)

    expect_in_the_book(page, "74.6", "10.4", "7.2")


def test_tare_command_is_sent_as_written(page: Page) -> None:
    plug_in(page, tare=r"T\r\n")
    page.get_by_role("button", name="Tare").tap()

    until(page, "lab.written.length > 0")
    assert page.evaluate("lab.written") == ["T\r\n"]


def test_cable_is_found_again_after_a_reload_until_somebody_types(page: Page) -> None:
    plug_in(page)
    page.reload()
    expect(page.get_by_role("button", name="Type instead")).to_be_visible()

    page.get_by_role("button", name="Type instead").tap()
    expect(page.get_by_role("group", name="Keypad")).to_be_visible()
    page.reload()
    expect(page.get_by_role("group", name="Keypad")).to_be_visible()


def test_pattern_of_its_own_reads_another_scale(page: Page) -> None:
    plug_in(page, pattern=r"^N=(?<figure>\d+,\d)(?<flag>[#?])$", steady="#")
    send(page, "N=74,6?\n", "N=74,6#\n")
    expect(page.locator("#figure.moving")).to_have_count(0)
    tap_record(page)

    expect_in_the_book(page, "74.6")


def test_pattern_that_cannot_work_is_refused_with_a_sentence(page: Page) -> None:
    page.locator("#scale").select_option("cable")
    page.locator("#cable-pattern").fill("(?<figure>[")
    page.get_by_role("button", name="Choose the cable and read from it").tap()

    expect(page.get_by_role("dialog").get_by_role("status")).to_have_text(
        "The pattern is no regular expression with a group named figure."
    )


def test_scanned_code_goes_to_the_box_while_the_cable_fills_the_figure(
    page: Page, batch: Batch
) -> None:
    wax = batch.lines.all()[1].item.lots.get()
    plug_in(page)
    send(page, STEADY)
    page.locator("#figure").focus()
    page.keyboard.type(wax.code)
    page.keyboard.press("Enter")

    expect(page.locator('[data-part="name"]')).to_have_text("Wax")
    expect(page.locator("#figure")).to_have_value("74.6")


# NIST SP 811, appendix B.8: a kilogram is 1000 g, an avoirdupois ounce 28.349 523 125 g.
MG = {"g": Fraction(1000), "kg": Fraction(1_000_000), "oz": Fraction(28_349_523_125, 1_000_000)}


def test_units_become_whole_milligrams_exactly(page: Page) -> None:
    page.evaluate(
        "async () => { lab.mg = (await import('/static/js/kettle-scale.js')).milligrams; }"
    )

    @settings(max_examples=150, deadline=None)
    @given(
        st.integers(0, 99_999),
        st.integers(0, 4),
        st.sampled_from(sorted(MG)),
        st.sampled_from(".,"),
    )
    def holds(whole: int, places: int, unit: str, mark: str) -> None:
        decimals = str(whole).zfill(places)[-places:] if places else ""
        text = f"{whole}{mark}{decimals}" if places else f"{whole}"
        exact = Fraction(text.replace(",", ".")) * MG[unit]
        found = page.evaluate("([text, unit]) => lab.mg(text, unit)", [text, unit])
        assert found == int(exact + Fraction(1, 2))

    holds()
