"""The weigh-up by touch: keypad, scan, dead network, lost answer, reload, no script at all."""

from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal

import pytest
from django.conf import settings
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Route, expect

from tests import make
from tests.browser.stove import NARROW, expect_in_the_book, in_the_book, key_in, record, signed_in
from tests.kettle import build
from workshop.kettle.models import Batch
from workshop.ledger.models import Lot, Posting, Status

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def batch() -> Batch:
    version = build.soft_balm()
    for line in version.lines.all():
        make.lot(line.item, on_hand=100)
    began = timezone.now() - timedelta(hours=1)
    return build.batch(version, target_g="92.2", at=began)


@pytest.fixture(params=[(1024, 768), (768, 1024)], ids=["landscape", "portrait"])
def tablet(
    request: pytest.FixtureRequest, browser: Browser, base_url: str
) -> Iterator[BrowserContext]:
    width, height = request.param
    context = browser.new_context(
        viewport={"width": width, "height": height},
        has_touch=True,
        base_url=base_url,
        service_workers="block",
    )
    yield signed_in(context, base_url)
    context.close()


@pytest.fixture
def stove(tablet: BrowserContext, batch: Batch) -> Iterator[Page]:
    """The weigh-up of the batch; whatever the browser complains of fails the test."""
    page = tablet.new_page()
    heard: list[str] = []

    def hear(message: ConsoleMessage) -> None:
        # The browser notes each request that fails or is refused, which these tests are about.
        expected = "net::ERR" in message.text or "status of 422" in message.text
        if message.type == "error" and not expected:
            heard.append(message.text)

    page.on("console", hear)
    page.on("pageerror", lambda error: heard.append(str(error)))
    page.goto(f"/kettle/{batch.operation.reference}/weigh/")
    expect(page.get_by_role("group", name="Keypad")).to_be_visible()
    yield page
    assert heard == []


def test_whole_batch_is_weighed_by_touch_without_scrolling(stove: Page, batch: Batch) -> None:
    fits = "document.documentElement.scrollHeight <= innerHeight && scrollY === 0"
    assert stove.evaluate(fits)

    for name, grams in (("Solid oil", "74.6"), ("Wax", "10.4"), ("Liquid oil", "7.2")):
        expect(stove.get_by_role("heading", name=name)).to_be_visible()
        key_in(stove, grams)
        expect(stove.get_by_role("button", name=f"Record {grams}{NARROW}g {name}")).to_be_visible()
        record(stove)

    expect(stove.get_by_role("heading", name="All ingredients are in.")).to_be_visible()
    expect_in_the_book(stove, "74.6", "10.4", "7.2")
    assert stove.evaluate(fits)


def test_every_touch_target_is_large_enough_and_apart(stove: Page) -> None:
    boxes = stove.evaluate(
        """() => [...document.querySelectorAll(
             ".pad button, .stove-acts .btn, .order li a, .order > a, .stove select, .band input")]
           .filter((one) => one.offsetParent)
           .map((one) => one.getBoundingClientRect().height)"""
    )
    gap = stove.evaluate("parseFloat(getComputedStyle(document.querySelector('.pad')).rowGap)")
    figure = stove.evaluate(
        "parseFloat(getComputedStyle(document.querySelector('#figure')).fontSize)"
    )

    assert min(boxes) >= 56
    assert gap >= 12
    assert figure > 96


def test_pointer_moves_to_scale_and_words_say_it_too(stove: Page) -> None:
    aim = stove.locator('[data-part="aim"]')
    pointer = stove.locator('[data-part="pointer"]')

    key_in(stove, "74.6")
    expect(pointer).to_have_attribute("transform", "translate(320 0)")
    expect(aim).to_have_text(f"Within ±2{NARROW}%.")
    stove.locator("#figure").fill("76,4")

    expect(aim).to_have_text(f"1.8{NARROW}g over, outside ±2{NARROW}%.")
    # 1.8 g over with a band of 1.492 g each side, which is 107 of the drawing.
    x = float((pointer.get_attribute("transform") or "").split("(")[1].split()[0])
    assert x == pytest.approx(320 + 107 * 1.8 / 1.492)


def test_scanned_tag_picks_line_and_lot(stove: Page, batch: Batch) -> None:
    wax = batch.lines.all()[1]
    lot = Lot.objects.get(item=wax.item)

    stove.get_by_label("Scan or type a code").fill(lot.code)
    stove.keyboard.press("Enter")

    expect(stove.get_by_role("heading", name="Wax")).to_be_visible()
    expect(stove.locator('[data-part="lot"]')).to_contain_text(str(lot))


def test_empty_drum_leads_to_the_next_lot_of_the_same_line(stove: Page, batch: Batch) -> None:
    line = batch.lines.all()[0]
    first = Lot.objects.get(item=line.item)
    second = make.lot(line.item, on_hand=50)
    stove.reload()
    expect(stove.locator('[data-part="lot"]')).to_contain_text(str(first))

    Posting.objects.create(
        operation=batch.operation,
        lot=first,
        side="in",
        quantity=Decimal(-40),
        at=timezone.now(),
        by=batch.operation.opened_by,
        token="taken elsewhere",
    )
    stove.reload()
    key_in(stove, "60.0")
    record(stove)

    expect(stove.locator('[data-part="lot"]')).to_contain_text(str(second))
    expect(stove.locator('[data-part="to-go"]')).to_have_text(f"14.6{NARROW}g")


def test_lot_unknown_to_the_page_is_asked_of_the_book(stove: Page, batch: Batch) -> None:
    empty = make.lot(batch.lines.all()[0].item, on_hand=0)

    stove.locator("#figure").fill(str(empty))
    stove.keyboard.press("Enter")

    expect(stove.locator('[data-part="lot"]')).to_contain_text(str(empty))
    stove.wait_for_timeout(2500)  # past the next look at the book, which does not offer it
    expect(stove.locator('[data-part="lot"]')).to_contain_text(str(empty))


def test_lot_of_another_item_is_refused_with_a_sentence(stove: Page) -> None:
    other = make.lot(make.item(name="Beeswax"))

    stove.get_by_label("Scan or type a code").fill(other.code)
    stove.keyboard.press("Enter")

    expect(stove.get_by_role("status").first).to_contain_text("which this batch does not call for")


def test_readings_taken_without_network_are_kept_and_sent_later(
    stove: Page, tablet: BrowserContext
) -> None:
    tablet.set_offline(True)
    for grams in ("74.6", "10.4"):
        key_in(stove, grams)
        record(stove)
    expect(stove.locator('[data-part="queue"]')).to_have_text(
        f"○ 2 readings kept here, 0.0{NARROW}g in the book"
    )
    assert in_the_book() == []

    tablet.set_offline(False)

    expect_in_the_book(stove, "74.6", "10.4")
    expect(stove.locator('[data-part="queue"]')).to_have_text("")


def test_reading_whose_answer_was_lost_is_recorded_once(stove: Page) -> None:
    lost: list[int] = []

    def lose_first_answer(route: Route) -> None:
        if route.request.method == "POST" and not lost:
            lost.append(route.fetch().status)
            route.abort()
        else:
            route.continue_()

    stove.route("**/weigh/", lose_first_answer)
    key_in(stove, "74.6")
    record(stove)

    expect(stove.locator('[data-part="queue"]')).to_have_text("")
    assert lost == [200]
    assert in_the_book() == [Decimal("74.6")]


def test_reading_kept_on_the_device_outlives_the_page(
    stove: Page, tablet: BrowserContext, batch: Batch
) -> None:
    stove.route("**/weigh/", lambda route: route.abort())
    key_in(stove, "74.6")
    record(stove)
    expect(stove.get_by_role("status").first).to_contain_text("is kept here.")
    stove.close()

    again = tablet.new_page()
    again.goto(f"/kettle/{batch.operation.reference}/weigh/")

    expect_in_the_book(again, "74.6")


def test_reading_after_the_session_ended_waits_for_the_next_sign_in(
    stove: Page, tablet: BrowserContext, base_url: str
) -> None:
    tablet.clear_cookies(name=settings.SESSION_COOKIE_NAME)
    key_in(stove, "74.6")
    record(stove)
    expect(stove.get_by_role("status").first).to_contain_text("Sign in again")
    assert in_the_book() == []

    signed_in(tablet, base_url)

    expect_in_the_book(stove, "74.6")


def test_double_tap_records_once(stove: Page) -> None:
    key_in(stove, "74.6")
    stove.locator('[data-part="record"]').dblclick()

    expect_in_the_book(stove, "74.6")
    expect(stove.get_by_role("status").first).to_contain_text("Within tolerance.")


def test_two_readings_in_one_breath_are_two(stove: Page) -> None:
    stove.evaluate(
        """() => {
             const figure = document.getElementById("figure");
             for (const grams of ["74.6", "10.4"]) {
               figure.value = grams;
               document.querySelector('[data-part="record"]').click();
             }
           }"""
    )

    expect_in_the_book(stove, "74.6", "10.4")


def test_refused_reading_comes_back_to_the_figure(stove: Page, batch: Batch) -> None:
    lot = Lot.objects.get(item=batch.lines.all()[0].item)
    make.put(lot, Status.ON_HOLD)

    key_in(stove, "74.6")
    record(stove)

    expect(stove.get_by_role("status").first).to_contain_text(
        f"Not recorded: Lot {lot} is on hold."
    )
    expect(stove.locator("#figure")).to_have_value("74.6")
    assert in_the_book() == []


def test_second_tablet_sees_the_reading_of_the_first(stove: Page, batch: Batch) -> None:
    line = batch.lines.all()[0]
    build.weigh(line, "74.6", lot=Lot.objects.get(item=line.item), at=timezone.now())

    expect(stove.locator(f'[data-line="{line.pk}"]')).to_contain_text("✓ 74.6")


def test_weigh_up_works_without_script(browser: Browser, base_url: str, batch: Batch) -> None:
    context = browser.new_context(base_url=base_url, java_script_enabled=False)
    page = signed_in(context, base_url).new_page()
    page.goto(f"/kettle/{batch.operation.reference}/weigh/")

    page.get_by_label("Scale should read").fill("74,6")
    page.get_by_role("button", name="Record Solid oil").click()
    expect(page.get_by_role("heading", name="Wax")).to_be_visible()
    page.get_by_role("link", name="Other lot").click()
    page.get_by_label("Scan the tag, or type the code").fill(
        Lot.objects.get(item=batch.lines.all()[2].item).code
    )
    page.get_by_role("button", name="Take this lot").click()
    expect(page.get_by_role("heading", name="Liquid oil")).to_be_visible()

    assert in_the_book() == [Decimal("74.6")]
    context.close()


def test_empty_reading_shows_no_figure_that_could_pass_for_a_weight(stove: Page) -> None:
    """From two metres only the large line is read: no digit stands there before one is typed."""
    figure = stove.locator("#figure")
    assert not any(sign.isdigit() for sign in figure.get_attribute("placeholder") or "")
    expect(figure).to_have_value("")
    style = "getComputedStyle(document.querySelector('#figure')).borderBottomStyle"
    empty = stove.evaluate(style)

    key_in(stove, "30")

    assert (empty, stove.evaluate(style)) == ("dashed", "solid")
    expect(stove.locator('[data-part="to-go"]')).to_have_text(f"74.6{NARROW}g")


def test_refusal_goes_when_another_figure_is_typed(stove: Page) -> None:
    words = stove.locator('[data-part="words"]')
    key_in(stove, "37.35")
    stove.locator('[data-part="record"]').tap()
    expect(words).to_contain_text("shows steps of")

    stove.get_by_role("button", name="delete the last digit").tap()

    expect(words).to_have_text("")
    expect(words).not_to_have_class("words refused")


def test_keypad_stays_where_it_is_when_a_message_comes(stove: Page) -> None:
    places = "[...document.querySelectorAll('.pad button')].map((one) => one.offsetTop)"
    before = stove.evaluate(places)

    stove.locator('[data-part="record"]').tap()
    expect(stove.locator('[data-part="words"]')).to_have_text("Type what the scale shows.")

    assert stove.evaluate(places) == before


def test_next_line_is_announced_and_the_same_line_is_not_said_again(stove: Page) -> None:
    name = stove.locator('[data-part="name"]')
    expect(name).to_have_attribute("aria-live", "polite")
    stove.evaluate(
        """() => {
             globalThis.said = [];
             const name = document.querySelector('[data-part="name"]');
             new MutationObserver(() => globalThis.said.push(name.textContent))
               .observe(name, { childList: true, characterData: true, subtree: true });
           }"""
    )

    for grams in ("60", "14.6"):
        key_in(stove, grams)
        record(stove)
    expect(name).to_have_text("Wax")
    expect_in_the_book(stove, "60", "14.6")

    assert stove.evaluate("globalThis.said") == ["Wax"]
