"""Two people count two shelves, one of them on a phone; an owner signs what differs."""

from collections.abc import Iterator
from decimal import Decimal

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests import make
from tests.browser import stove
from tests.browser.keys import scan
from tests.counts.build import place, put
from workshop.core.models import Role, User
from workshop.counts.models import Count, CountRound
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot

pytestmark = pytest.mark.django_db(transaction=True)
PASSWORD = "seven quiet kettles"
PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 800}
TARGET_PX = 44


class Counter:
    """Somebody who counts: reads the page, types a figure, goes on."""

    def __init__(self, context: BrowserContext) -> None:
        self.page: Page = context.new_page()

    def opens(self, address: str) -> None:
        self.page.goto(address)

    def follows(self, name: str) -> None:
        self.page.locator("main").get_by_role("link", name=name, exact=True).first.click()

    def counts(self, lot: Lot, figure: str) -> None:
        """The page of that lot is open; the figure is typed and recorded."""
        expect(self.page.locator("main .lot").first).to_have_text(lot.shown_code)
        self.page.get_by_label("Counted, in").fill(figure)
        self.page.get_by_role("button", name="Record and go on").click()
        expect(self.page.locator(".said")).to_contain_text(lot.shown_code)

    def reads(self, words: str) -> None:
        expect(self.page.locator("main")).to_contain_text(words)


@pytest.fixture
def people(browser: Browser, base_url: str) -> Iterator[tuple[Counter, Counter, Counter]]:
    """The packer on a phone, the maker at a desk, the owner with a password."""
    owner = User.objects.create_user("odile", password=PASSWORD, role=Role.OWNER)
    contexts = []
    for person, size in (
        (make.user(Role.PACKER), PHONE),
        (make.user(Role.MAKER), DESK),
        (owner, DESK),
    ):
        is_phone = size is PHONE
        context = browser.new_context(viewport=size, base_url=base_url, has_touch=is_phone)  # type: ignore[arg-type]  # a size
        contexts.append(stove.signed_in(context, base_url, person))
    packer, maker, signer = (Counter(context) for context in contexts)
    yield packer, maker, signer
    for context in contexts:
        context.close()


def test_two_people_count_two_shelves_and_the_owner_signs(
    people: tuple[Counter, Counter, Counter],
) -> None:
    packer, maker, owner = people
    oil = make.lot(make.item(name="Almond oil"), on_hand=5000)
    wax = make.lot(make.item(name="Beeswax"), on_hand=2000)
    butter = make.lot(make.item(name="Cocoa butter"), on_hand=800)
    stray = make.lot(make.item(name="Sage"), on_hand=60)
    put(place("Shelf 1"), oil, wax)
    put(place("Shelf 2"), butter)

    # The owner begins a round of what is in stock but for the stray, which nobody knows of yet.
    put(place("Elsewhere"), stray)
    ledger.count_lot(stray, Decimal(0), by=make.user(), at=make.NOON, reason="Gone", token="s")
    owner.opens("/counts/begin/")
    owner.page.get_by_label("May be off by, %").fill("1")
    owner.page.get_by_role("button", name="Begin the round").click()
    owner.reads("0 of 3 lots counted")
    found = CountRound.objects.get()

    # The packer goes along shelf 1 with the phone: type and next.
    packer.opens(f"/counts/{found}/count/")
    packer.reads("3 lots left to count")
    assert packer.page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    packer.page.get_by_role("link", name="Next: Almond oil").click()
    assert packer.page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    button = packer.page.get_by_role("button", name="Record and go on").bounding_box()
    assert button is not None
    assert button["height"] >= TARGET_PX
    packer.counts(oil, "4985")
    packer.counts(wax, "1700")
    packer.reads("best by somebody else")

    # The maker scans a lot of shelf 2 at the same time, and one that is on no list.
    maker.opens(f"/counts/{found}/count/")
    maker.page.get_by_label("Scan or type a lot").focus()
    scan(maker.page, butter.code)
    maker.counts(butter, "800")
    maker.opens(f"/counts/{found}/count/")
    maker.page.get_by_label("Scan or type a lot").fill("NOSUCHLOT")
    maker.page.get_by_label("Scan or type a lot").press("Enter")
    maker.reads("No lot has the code NOSUCHLOT")
    maker.page.get_by_label("Scan or type a lot").fill(stray.shown_code)
    maker.page.get_by_label("Scan or type a lot").press("Enter")
    maker.reads("This lot is not on the list")
    maker.counts(stray, "60")

    # What was out of tolerance is counted again by the other one, blind.
    maker.opens(f"/counts/{found}/count/{wax.code}/")
    maker.reads("A second count")
    assert "2 000" not in maker.page.locator("main").inner_text().replace("\u202f", " ")
    maker.counts(wax, "1702,5")
    maker.opens(f"/counts/{found}/count/{stray.code}/")
    maker.counts(stray, "60")

    # The owner sees both counts, says why, signs.
    owner.opens(f"/counts/{found}/")
    owner.reads("4 of 4 lots counted")
    owner.follows("End the round")
    owner.reads("3 lots differ from the book")
    for reason in owner.page.get_by_label("Why lot").all():
        reason.fill("Weighed out and never written down")
    owner.page.get_by_label("Your password").fill(PASSWORD)
    owner.page.get_by_role("button", name="Sign and end the round").click()
    owner.reads("2 of 4 records were right, 50 %")

    assert [ledger.on_hand(lot) for lot in (oil, wax, butter, stray)] == [
        Decimal(4985),
        Decimal("1702.5"),
        Decimal(800),
        Decimal(60),
    ]
    assert len({one.by for one in Count.objects.filter(line__lot=wax)}) == 2


def test_lots_are_put_in_their_place_by_scanning(people: tuple[Counter, Counter, Counter]) -> None:
    packer, _, _ = people
    shelf, lots = place("Shelf 1"), [make.lot() for _ in range(2)]
    packer.opens("/")
    scan(packer.page, shelf.code)
    packer.reads("Shelf 1: 0 lots")
    packer.page.get_by_label("Lots", exact=False).first.focus()
    for lot in lots:
        scan(packer.page, lot.code)
    packer.page.get_by_role("button", name="Put them here").click()
    packer.reads("Shelf 1: 2 lots")
