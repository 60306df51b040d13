"""Pages of labels in a real browser: no broken rule of accessibility, and the picture follows."""

import re
from collections.abc import Iterator

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, Page, Request, expect

from tests import make
from tests.browser import stove
from tests.browser.test_kettle_axe import broken_rules
from tests.labels.test_print_status import Bench, design, extra
from workshop.core.models import Role, User
from workshop.core.saving.new_tokens import new_token
from workshop.labels import services
from workshop.labels.layout.label_stock import BY_KEY
from workshop.labels.models import LabelVersion, OwnSize
from workshop.labels.services import versions as approved
from workshop.labels.services.decisions import decide
from workshop.ledger.models import Lot

pytestmark = pytest.mark.django_db(transaction=True)
SIZES = [(1280, 800), (390, 844)]


@pytest.fixture
def owner() -> User:
    return make.user(Role.OWNER)


@pytest.fixture(params=SIZES, ids=["desk", "phone"])
def page(
    request: pytest.FixtureRequest, browser: Browser, base_url: str, owner: User
) -> Iterator[Page]:
    width, height = request.param
    context = browser.new_context(viewport={"width": width, "height": height}, base_url=base_url)
    yield stove.signed_in(context, base_url, owner).new_page()
    context.close()


@pytest.fixture
def untrue(owner: User) -> Lot:
    """A lot to decide about; one of its kind is printed and counted, another decided about."""
    bench = Bench()
    other = extra(bench, owner)
    design(bench.product, owner, may_contain="CI 77491 (Iron Oxides)")
    at = timezone.now()
    printed = bench.usual()
    services.log_print(printed, 12, by=owner, at=at, layout=BY_KEY["a4-8"])
    services.count_labels(
        printed, used=10, spoiled=2, returned=0, by=owner, at=at, token=new_token()
    )
    decide(other, "relabel", by=owner, at=at, reason="Old labels in stock.", token=new_token())
    return bench.lot((bench.olive, 495), (bench.wax, 500), (bench.vitamin, 5))


def test_pages_of_labels_break_no_rule(page: Page, owner: User, untrue: Lot) -> None:
    draft = approved.draft_from_lot(untrue, "US", by=owner, at=timezone.now())
    size = OwnSize.objects.create(name="Roll", width_mm=100, height_mm=50, dpi=203)
    item = untrue.item.code
    lots = [lot.code for lot in Lot.objects.filter(item=untrue.item)]
    versions = [draft.pk, LabelVersion.objects.approved().get().pk]
    places = [
        "", "untrue/", "sizes/", "sizes/new/", f"sizes/{size.pk}/",
        f"products/{item}/", f"products/{item}/design/",
        *(f"versions/{pk}/" for pk in versions),
        *(f"{code}/" for code in lots),
        *(f"{untrue.code}/{page_name}/" for page_name in ("decide", "print", "carton", "count")),
        *(f"{code}/{page_name}/" for code in lots[:2] for page_name in ("print", "count")),
    ]  # fmt: skip

    assert [rule for place in places for rule in broken_rules(page, f"/labels/{place}")] == []


def test_today_shows_the_label_to_decide_about(page: Page, untrue: Lot) -> None:
    page.goto("/")

    counted = page.get_by_role("link", name="Labels that do not match their lot 1")
    expect(counted).to_be_visible(timeout=stove.SLOW_MS)
    assert broken_rules(page, "/") == []

    counted.click()
    expect(page.get_by_role("link", name="Resolve")).to_be_visible()


def test_picture_of_a_draft_follows_what_is_typed(page: Page, owner: User) -> None:
    bench = Bench()
    draft = approved.draft_from_lot(bench.usual(), "US", by=owner, at=timezone.now())
    page.goto(f"/labels/versions/{draft.pk}/")
    picture = page.locator("#seen img")
    before = picture.get_attribute("src")

    page.get_by_label("Directions").fill("Warm it in the hand first.")

    expect(picture).not_to_have_attribute("src", before or "", timeout=stove.SLOW_MS)
    expect(page.get_by_text("It would be untrue of that lot")).to_have_count(0)


@pytest.mark.parametrize("script", ["script", "no script"])
def test_size_chosen_beside_the_picture_is_the_one_printed(
    browser: Browser, base_url: str, owner: User, script: str
) -> None:
    lot, has_script = Bench().usual(), script == "script"
    context = browser.new_context(base_url=base_url, java_script_enabled=has_script)
    page = stove.signed_in(context, base_url, owner).new_page()
    address = f"/labels/{lot.code}/?market=US"
    page.goto(address)
    size = page.get_by_label("On", exact=True)
    for other in ("a4-8", "100x70"):
        assert size.input_value() != other
        size.select_option(other)
        if has_script:
            picture = page.get_by_alt_text(f"The label on {BY_KEY[other].size}")
            expect(picture).to_be_visible()

        with context.expect_event("request", is_preview) as seen:
            page.get_by_role("button", name="See it as PDF").click()
        assert f"layout={other}" in seen.value.url
        page.get_by_role("button", name="Print labels").click()

        expect(page.get_by_label("Size")).to_have_value(other)
        expect(page).to_have_url(re.compile("market=US"))
        page.goto(address)
    context.close()


def is_preview(request: Request) -> bool:
    return "/preview/" in request.url


def test_market_chosen_keeps_the_size_and_the_size_the_market(page: Page, owner: User) -> None:
    bench = Bench()
    lot = bench.usual()
    design(bench.product, owner, sold_in_us=True, sold_in_uk=True)
    page.goto(f"/labels/{lot.code}/")
    size = page.get_by_label("On", exact=True)

    size.select_option("100x70")
    expect(page).to_have_url(re.compile("layout=100x70"))
    page.locator("#markets").get_by_role("link", name="UK").click()

    expect(page.locator("#markets b")).to_have_text("UK")
    expect(size).to_have_value("100x70")
    size.select_option("100x100")
    expect(page).to_have_url(re.compile("market=UK&layout=100x100"))
    expect(page.locator("#markets b")).to_have_text("UK")


def test_print_form_stays_in_its_tab_and_the_label_comes_back(page: Page, owner: User) -> None:
    lot = Bench().usual()
    page.goto(f"/labels/{lot.code}/print/?layout=a4-8&market=US")
    page.get_by_label("How many").fill("12")
    page.get_by_label("First cell").fill("9")

    page.get_by_role("button", name="Print and log").click()
    expect(page.get_by_text("This sheet has cells 1 to 8; there is no cell 9.")).to_be_visible()
    expect(page.get_by_label("How many")).to_have_value("12")
    expect(page.get_by_label("First cell")).to_have_value("9")
    page.get_by_label("First cell").fill("2")
    page.get_by_role("button", name="Print and log").dblclick()

    expect(page.get_by_role("status")).to_contain_text("12 labels of lot")
    assert [row.count for row in lot.prints.all()] == [12]
    assert len(page.context.pages) == 1
    # A browser without a window of its own takes the PDF down instead of showing it.
    link = page.get_by_role("status").get_by_role("link", name="Open the PDF")
    opened = link.get_attribute("href")
    sheet = page.context.request.get(f"{page.url.split('/labels/')[0]}{opened}")
    assert sheet.headers["content-type"] == "application/pdf"
    assert broken_rules(page, f"/labels/{lot.code}/print/") == []
    expect(page.get_by_text("12 labels of this lot were printed before")).to_be_visible()


def test_printing_again_without_a_reason_is_refused_in_its_tab(page: Page, owner: User) -> None:
    lot = Bench().usual()
    services.log_print(lot, 30, by=owner, at=timezone.now(), layout=BY_KEY["a4-8"])
    page.goto(f"/labels/{lot.code}/print/")
    page.get_by_label("How many").fill("3")
    page.get_by_label("Reason for reprint").fill(" ")

    page.get_by_role("button", name="Print and log").click()

    expect(page.get_by_text("were printed before. Say why more are needed.")).to_be_visible()
    expect(page.get_by_label("How many")).to_have_value("3")
    page.get_by_label("Reason for reprint").fill("three smeared")
    page.get_by_role("button", name="Print and log").click()
    expect(page.get_by_role("status")).to_contain_text("3 labels of lot")
    assert len(page.context.pages) == 1
