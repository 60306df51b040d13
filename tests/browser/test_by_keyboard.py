"""The five acts of a day by the keyboard alone, as a screen reader tells of them.

Weigh, print, drill and count: only keys are pressed, and each field and button is found by the role
and the name that the browser hands to a screen reader. A receipt is typed in test_receipt.py.
"""

from collections.abc import Iterator
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, Page, expect

from tests import make
from tests.browser import stove
from tests.browser.by_ear import Keyboard
from tests.browser.stove import expect_in_the_book
from tests.counts import build as counts
from tests.kettle import build
from tests.labels.test_print_status import Bench
from tests.trace import rooms
from workshop.aftersales.models import Recall
from workshop.core.models import Role, User
from workshop.counts.models import Count
from workshop.labels.models import Print

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def owner() -> User:
    return make.user(Role.OWNER)


@pytest.fixture
def page(browser: Browser, base_url: str, owner: User) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1280, "height": 800}, base_url=base_url)
    yield stove.signed_in(context, base_url, owner).new_page()
    context.close()


def test_two_ingredients_are_weighed_and_one_is_taken_back(page: Page) -> None:
    version = build.soft_balm()
    for line in version.lines.all():
        make.lot(line.item, on_hand=100)
    batch = build.batch(version, target_g="92.2", at=timezone.now() - timedelta(hours=1))
    first, second, _ = (str(line.item) for line in batch.lines.all())
    page.goto(stove.address(batch))
    keys = Keyboard(page)
    keys.heading(first)

    keys.types("Scale should read", "74.6")
    page.keyboard.press("Enter")
    keys.heading(second)
    expect(page.get_by_role("status").filter(has_text="74.6")).to_be_visible()
    assert keys.hears()[1].startswith("Scale should read")  # ready for the next, without a key
    keys.types("Scale should read", "10.4")
    page.keyboard.press("Enter")
    expect_in_the_book(page, "74.6", "10.4")

    keys.follows("link", "Undo last")
    keys.goes_to("radio", "misread or mistyped")
    page.keyboard.press("Space")
    keys.follows("button", "Take it back")
    expect_in_the_book(page, "74.6")


def test_labels_are_printed(page: Page, owner: User) -> None:
    bench = Bench()
    lot = bench.usual()
    page.goto(f"/labels/{lot.code}/")
    keys = Keyboard(page)
    keys.heading(lot.shown_code)

    keys.follows("button", "Print labels")
    keys.goes_to("spinbutton", "How many")
    page.keyboard.press("Control+a")
    page.keyboard.type("4")
    keys.goes_to("button", "Print and log")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("4 labels of lot")
    keys.goes_to("link", "Open the PDF")
    # The labels come in a tab of their own.
    with page.context.expect_event(
        "response", lambda answer: "/labels/prints/" in answer.url
    ) as printed:
        page.keyboard.press("Enter")

    assert printed.value.headers["content-type"] == "application/pdf"
    assert [row.count for row in Print.objects.all()] == [4]


def test_drill_is_closed(page: Page) -> None:
    house = rooms.House()
    page.goto("/aftersales/drills/")
    keys = Keyboard(page)

    keys.follows("link", "Begin a drill")
    keys.types("Lot", house.wax.shown_code)
    keys.follows("button", "Start the clock")
    assert page.get_by_role("timer").count() == 1
    keys.follows("link", "Look at the shelves and stop the clock")
    keys.types(f"Found of {house.tins}", "162")
    keys.follows("button", "Stop the clock")

    keys.goes_to("link", "Report (PDF)")
    assert Recall.objects.get().is_closed


def test_lot_is_counted(page: Page, owner: User) -> None:
    oil = make.item(name="Olive oil")
    lots = [make.lot(oil, on_hand=500), make.lot(oil, on_hand=700)]
    found = counts.a_round(by=owner, at=timezone.now() - timedelta(hours=1))
    page.goto(f"/counts/{found}/count/")
    keys = Keyboard(page)
    keys.heading("2 lots left to count")
    assert keys.hears() == ("textbox", "Scan or type a lot")  # the focus waits in the field

    page.keyboard.type(lots[1].shown_code)
    with page.expect_navigation():
        page.keyboard.press("Enter")
    keys.heading("Olive oil")
    keys.types("Counted, in grams", "698")
    keys.follows("button", "Record and go on")

    # What was written is read out, and the next lot is there already.
    expect(page.get_by_role("status").filter(has_text=f"lot {lots[1].shown_code}")).to_be_visible()
    keys.types("Counted, in grams", "500")
    keys.follows("button", "Record and go on")
    keys.heading(f"Everything in round {found} is counted")
    assert [row.counted for row in Count.objects.order_by("pk")] == [698, 500]
