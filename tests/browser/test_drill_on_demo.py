"""A recall drill on the whole demonstration: from the code on a tin to the finished report."""

import re
from io import BytesIO, StringIO

import pytest
from django.core.management import call_command
from django.db.models import Count
from django.utils import timezone
from playwright.sync_api import Locator, Page, expect
from pypdf import PdfReader

from workshop.aftersales.models import Recall
from workshop.aftersales.recalls.scope import percents_of
from workshop.core.models import User
from workshop.curing.models import CureWeighing
from workshop.ledger.lot_tree import descendants
from workshop.ledger.models import ItemKind, Lot, OperationKind, ShedKind, Status

pytestmark = pytest.mark.django_db(transaction=True)
PASSWORD = "seven quiet kettles"
# As long as somebody rests on a page that they know, hits a key, goes to a shelf and counts.
A_LOOK_MS, A_KEY_MS, A_SHELF_MS = 3000, 120, 2500
TWO_MINUTES = 120


def fill_the_book() -> None:
    """Eighteen months up to today, as the command fills an empty book."""
    call_command("demo", until=timezone.localdate(), stdout=StringIO())
    odile = User.objects.get(username="odile")
    odile.set_password(PASSWORD)
    odile.save()


def tin_at_hand() -> Lot:
    """A finished lot of which some went to many customers and some is still on the shelf."""
    shelf = Lot.objects.available(on=timezone.localdate()).filter(item__kind=ItemKind.PRODUCT)
    often = Lot.objects.filter(pk__in=shelf.values("pk"))
    sent = often.filter(postings__operation__kind=OperationKind.DISPATCH).annotate(
        times=Count("postings")
    )
    return sent.order_by("-times", "pk")[0]


def seconds(text: str) -> int:
    """What a clock of hours, minutes and seconds says."""
    hours, minutes, rest = re.findall(r"(\d+):(\d\d):(\d\d)", text)[0]
    return int(hours) * 3600 + int(minutes) * 60 + int(rest)


class Person:
    """Somebody who knows the way, reads a little and types at a usual pace."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def types(self, field: Locator, text: str) -> None:
        field.press_sequentially(text, delay=A_KEY_MS)

    def goes(self, name: str) -> None:
        self.page.wait_for_timeout(A_LOOK_MS)
        self.page.get_by_role("link", name=name, exact=True).first.click()

    def chooses(self, name: str) -> None:
        """The first that is offered; nothing is chosen beforehand."""
        self.page.wait_for_timeout(A_LOOK_MS)
        self.page.locator(f'select[name="{name}"]').select_option(index=1)

    def presses(self, name: str) -> None:
        self.page.wait_for_timeout(A_LOOK_MS)
        self.page.get_by_role("button", name=name).click()


@pytest.fixture
def odile(page: Page) -> Person:
    fill_the_book()
    page.goto("/")
    page.get_by_label("Username").fill("odile")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    return Person(page)


def test_drill_on_the_whole_demo_takes_one_person_under_two_minutes(odile: Person) -> None:
    page, tin = odile.page, tin_at_hand()
    clock = page.get_by_role("timer")

    # From the code on the tin to the batch that filled it.
    box = page.get_by_label("Scan or type a code")
    odile.types(box, tin.shown_code.lower())
    box.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text(tin.shown_code)
    page.wait_for_timeout(A_LOOK_MS)
    made_here = page.get_by_role("heading", name="Lots made here and used for it")
    made_here.locator("xpath=following::table[1]").get_by_role("link").first.click()
    expect(page.get_by_role("heading", name="Who has it")).to_be_visible()
    odile.goes("Drill with this lot")
    odile.presses("Start the clock")

    # Which lots, who has them, how they are reached.
    expect(clock).to_have_text(re.compile(r"^0:00:\d\d$"))
    began = seconds(clock.inner_text())
    for heading in ("Who was sent some of it", "Where every unit is"):
        expect(page.get_by_role("heading", name=heading)).to_be_visible()
    page.wait_for_timeout(1000 + A_LOOK_MS)
    assert seconds(clock.inner_text()) > began
    buyers = page.get_by_role("heading", name="Who was sent some of it")
    first = buyers.locator("xpath=following::table[1]").get_by_role("link").first
    customer = first.inner_text()
    first.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(customer)
    odile.chooses("what")
    odile.chooses("means")
    odile.types(page.get_by_label("What was said"), "Drill: the number is right.")
    odile.presses("Add it to the log")
    expect(page.get_by_role("cell", name="Drill: the number is right.")).to_be_visible()

    # The shelves, and the end.
    odile.goes("Look at the shelves and stop the clock")
    look_at_the_shelves(odile)
    odile.presses("Stop the clock")

    said = page.get_by_text("It took").inner_text()
    assert seconds(said) < TWO_MINUTES
    drill = Recall.objects.with_sums().get(pk=Recall.objects.latest("pk").pk)
    percent, _ = percents_of(drill)
    assert not drill.missing
    assert f"{percent:.2f}\u202f% of the finished units accounted for" in said
    report_tells(odile, said)
    soap_on_its_rack_waits(odile)
    herb_that_was_strained_out_leads_to_its_tins(odile)


def soap_on_its_rack_waits(odile: Person) -> None:
    """Weighed once more, it is lighter; and it is not released before its day."""
    page, main = odile.page, odile.page.locator("main")
    cures = Lot.objects.filter(origin__batch__version__cure_days__gt=0)
    soap = cures.filter(status=Status.QUARANTINE).select_related("origin").latest("pk")
    last = CureWeighing.objects.filter(lot=soap).latest("pk")
    page.goto("/curing/")
    page.locator(f"[name='weight-{soap.pk}']").fill(str(last.weight_g - 1))
    page.locator("main :is(button, input):is(.primary, .btn-primary)").first.click()
    expect(main).to_contain_text(f"Lot {soap.shown_code}: ")
    page.goto(f"/kettle/{soap.origin.reference}/release/")
    page.locator("main [name=password]").fill(PASSWORD)
    page.locator("main :is(button, input):is(.primary, .btn-primary)").first.click()
    expect(main).to_contain_text("cures until")
    soap.refresh_from_db()
    assert soap.status == Status.QUARANTINE


def herb_that_was_strained_out_leads_to_its_tins(odile: Person) -> None:
    herb = Lot.objects.filter(sheds__kind=ShedKind.STRAINED).order_by("pk")[0]
    made = Lot.objects.filter(pk__in=descendants([herb.pk]), item__kind=ItemKind.PRODUCT)
    odile.page.goto(f"/trace/{herb.code}/")
    main = odile.page.locator("main")
    expect(main).to_contain_text("strained out")
    expect(main).to_contain_text(made.order_by("pk")[0].shown_code)


def look_at_the_shelves(odile: Person) -> None:
    """Every lot in the house is found as the book says; there is at least the one of the tin."""
    expect(odile.page.get_by_role("button", name="Stop the clock")).to_be_visible()
    fields = odile.page.get_by_label("Found of")
    assert fields.count() > 0
    for place in range(fields.count()):
        field = fields.nth(place)
        told = odile.page.locator(f"#{field.get_attribute('aria-describedby')}").inner_text()
        found = re.search(r"The book says ([\d.\u202f]+)", told)
        assert found
        odile.page.wait_for_timeout(A_SHELF_MS)
        odile.types(field, found[1].rstrip(".").replace("\u202f", ""))


def report_tells(odile: Person, said: str) -> None:
    link = odile.page.get_by_role("link", name="Report (PDF)").get_attribute("href")
    answer = odile.page.context.request.get(f"{odile.page.url.split('/aftersales/')[0]}{link}")
    assert answer.headers["content-type"] == "application/pdf"
    words = " ".join(page.extract_text() for page in PdfReader(BytesIO(answer.body())).pages)
    took = re.findall(r"\d+:\d\d:\d\d", said)[0]
    assert f"It took {took}" in " ".join(words.split())
    assert Recall.objects.filter(is_drill=True).latest("pk").took_shown == took
