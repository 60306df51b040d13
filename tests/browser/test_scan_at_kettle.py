"""A scan is a scan whatever has the focus: at the kettle it records nothing, changes no figure."""

from collections.abc import Callable, Iterator
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests import make
from tests.browser import stove
from tests.browser.keys import (
    GROUP_SEPARATOR,
    HAND_MS,
    SCANNER_MS,
    SLOW_SCANNER_MS,
    press_each,
    scan,
    type_in,
)
from tests.browser.stove import NARROW, at_the_stove, expect_in_the_book, in_the_book, key_in
from tests.kettle import build
from workshop.kettle.models import Batch
from workshop.ledger.models import Lot

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


@pytest.fixture
def wax(batch: Batch) -> Lot:
    found: Lot = batch.lines.get(item__name="Wax").item.lots.get()
    return found


def expect_wax(page: Page, *, figure: str) -> None:
    expect(page.locator('[data-part="name"]')).to_have_text("Wax")
    expect(page.locator("#figure")).to_have_value(figure)
    page.wait_for_timeout(300)
    assert in_the_book() == []


def touch_keypad(page: Page) -> None:
    key_in(page, "392")


def focus_record(page: Page) -> None:
    key_in(page, "392")
    page.locator('[data-part="record"]').focus()


def focus_figure(page: Page) -> None:
    key_in(page, "392")
    page.locator("#figure").focus()


def focus_scale(page: Page) -> None:
    key_in(page, "392")
    page.locator("#scale").focus()


def focus_link(page: Page) -> None:
    key_in(page, "392")
    page.get_by_role("link", name="Pour").focus()


def focus_nothing(page: Page) -> None:
    key_in(page, "392")
    page.evaluate("document.activeElement.blur()")


PLACES = [touch_keypad, focus_record, focus_figure, focus_scale, focus_link, focus_nothing]


@pytest.mark.parametrize("place", PLACES, ids=lambda place: place.__name__)
def test_scan_picks_its_line_and_leaves_the_figure(
    page: Page, wax: Lot, place: Callable[[Page], None]
) -> None:
    place(page)

    scan(page, wax.code)

    expect_wax(page, figure="392")
    expect(page.locator('[data-part="words"]')).to_have_text(
        f"Lot {wax} for Wax. 392 is still typed."
    )
    expect(page.get_by_label("Scan or type a code")).to_have_value("")


def test_figure_typed_after_a_scan_comes_to_the_figure(page: Page, wax: Lot) -> None:
    scan(page, wax.code)
    expect_wax(page, figure="")

    press_each(page, [*"5.2", "Enter"], HAND_MS)

    expect_in_the_book(page, "5.2")


@pytest.mark.parametrize("gap_ms", [1, SCANNER_MS, 20, SLOW_SCANNER_MS])
def test_slow_scanner_is_a_scanner_too(page: Page, wax: Lot, gap_ms: float) -> None:
    focus_record(page)

    scan(page, wax.code, gap_ms)

    expect_wax(page, figure="392")


def test_second_enter_of_a_scanner_presses_nothing(page: Page, wax: Lot) -> None:
    focus_record(page)

    press_each(page, [*wax.code, "Enter", "Enter"], SCANNER_MS)

    expect_wax(page, figure="392")


def test_scan_of_a_carton_symbol_with_separators_picks_its_lot(page: Page, wax: Lot) -> None:
    # FNC1 as the symbology identifier ]d2 in front and GS behind each element of open length.
    symbol = f"]d20109521234543213{'10' + wax.code}{GROUP_SEPARATOR}3710"
    focus_record(page)

    scan(page, symbol)

    expect_wax(page, figure="392")


def test_scan_in_the_choice_of_lots_takes_that_lot(page: Page, batch: Batch, wax: Lot) -> None:
    for field in (page.get_by_role("button", name="Take this lot"), page.locator("#lot-code")):
        page.get_by_role("link", name="Other lot").tap()
        field.focus()
        scan(page, wax.code)

        expect_wax(page, figure="")
        expect(page.get_by_role("dialog")).to_have_count(0)


def test_scan_while_the_book_asks_answers_nothing(
    tablet: BrowserContext, page: Page, batch: Batch, wax: Lot
) -> None:
    tablet.set_offline(True)
    line = batch.lines.all()[0]
    build.weigh(line, "37.3", lot=Lot.objects.get(item=line.item), at=timezone.now())
    stove.weigh(page, "Solid oil", "37.3")
    tablet.set_offline(False)
    expect(page.get_by_role("dialog")).to_contain_text("Somebody weighed it")

    scan(page, wax.code)

    expect(page.get_by_role("dialog")).to_contain_text("Answer this first, then scan again.")
    page.wait_for_timeout(300)
    expect_in_the_book(page, "37.3")


@pytest.mark.parametrize("gap_ms", [HAND_MS, 60, 40])
def test_figure_typed_by_a_quick_hand_is_recorded(page: Page, gap_ms: float) -> None:
    page.locator("#figure").focus()

    press_each(page, [*"37.3", "Enter"], gap_ms)

    expect_in_the_book(page, "37.3")


def test_figure_typed_with_nothing_focused_is_recorded_and_so_is_the_next(page: Page) -> None:
    press_each(page, [*"37.3", "Enter"], HAND_MS)
    expect(page.locator('[data-part="name"]')).to_have_text("Wax")
    press_each(page, [*"5.2", "Enter"], HAND_MS)

    expect_in_the_book(page, "37.3", "5.2")


def test_figure_typed_after_a_touch_on_record_comes_to_the_figure(page: Page) -> None:
    stove.weigh(page, "Solid oil", "37.3")
    expect(page.locator('[data-part="name"]')).to_have_text("Wax")

    type_in(page, "5.2")

    expect(page.locator("#figure")).to_have_value("5.2")


def test_code_typed_by_hand_with_nothing_focused_goes_to_the_box(page: Page, wax: Lot) -> None:
    code = next(sign for sign in wax.code if sign.isalpha()) + wax.code

    type_in(page, code)

    expect(page.get_by_label("Scan or type a code")).to_have_value(code)
    expect(page.locator("#figure")).to_have_value("")


def test_key_held_down_is_no_scanner(page: Page) -> None:
    page.locator("#figure").focus()

    press_each(page, "0000", 30, held=True)
    press_each(page, ["Enter"], 30)

    expect(page.locator('[data-part="words"]')).to_have_text("Type what the scale shows.")
    assert in_the_book() == []


def test_scan_on_a_page_whose_script_is_not_there_yet_presses_nothing(
    tablet: BrowserContext, batch: Batch, wax: Lot
) -> None:
    """The weigh-up's own modules are still on their way: the code goes to the box at the top."""
    page = tablet.new_page()
    page.route("**/weigh-up.js", lambda route: None)
    page.goto(stove.address(batch), wait_until="commit")
    figure = page.get_by_label("Scale should read")
    figure.fill("392")
    page.locator('[data-part="record"]').focus()

    scan(page, wax.code)

    page.wait_for_timeout(500)
    assert in_the_book() == []


def test_letter_does_not_choose_another_way_of_reading_the_scale(page: Page) -> None:
    page.locator("#scale").focus()

    type_in(page, "i")

    expect(page.locator('[data-part="to-go"]')).to_have_text(f"37.3{NARROW}g")
