"""An owner's Monday on the demonstration: stock, week, orders, a count, a formula, the month."""

import re
from collections.abc import Iterator
from decimal import Decimal
from io import BytesIO, StringIO

import openpyxl
import pytest
from django.core.management import call_command
from django.utils import timezone
from openpyxl.utils import range_boundaries
from openpyxl.worksheet.worksheet import Worksheet
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.browser.conftest import SLOW_MS, until
from tests.browser.keys import scan
from tests.counts.build import place
from workshop.core.models import User
from workshop.counts.models import Count
from workshop.formulas.models import Formula, Version, VersionStatus
from workshop.kettle.models import Batch
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, Lot, Place
from workshop.planning.models import PurchaseOrder, Reservation

pytestmark = pytest.mark.django_db(transaction=True)
PASSWORD = "seven quiet kettles"
A_KEY_MS = 90  # a person, not a scanner
PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 800}
TARGET_PX = 44


def fill_the_book() -> None:
    """Two months up to today, as the command fills an empty book."""
    call_command("demo", months=2, until=timezone.localdate(), stdout=StringIO())
    for name in ("odile", "pia"):
        person = User.objects.get(username=name)
        person.set_password(PASSWORD)
        person.save()


class Person:
    """Somebody with a screen of their own: goes where links lead, types, reads."""

    def __init__(self, context: BrowserContext, name: str) -> None:
        self.page: Page = context.new_page()
        self.page.set_default_timeout(SLOW_MS)
        # The first page of a book that was just started brings every room into memory.
        self.page.set_default_navigation_timeout(3 * SLOW_MS)
        self.page.goto("/")
        self.page.get_by_label("Username").fill(name)
        self.page.get_by_label("Password").fill(PASSWORD)
        self.page.keyboard.press("Enter")
        expect(self.page.get_by_role("link", name="Today")).to_be_visible(timeout=3 * SLOW_MS)

    def goes(self, *names: str) -> None:
        """From page to page by the words of the links."""
        for name in names:
            self.page.get_by_role("link", name=name, exact=True).first.click()

    def presses(self, name: str) -> None:
        self.page.get_by_role("button", name=name).first.click()

    def reads(self, words: str | re.Pattern[str]) -> None:
        expect(self.page.locator("main")).to_contain_text(words)

    def heading(self, words: str | re.Pattern[str]) -> None:
        expect(self.page.get_by_role("heading", level=1)).to_contain_text(words)

    def fits_the_screen(self, width: int) -> None:
        assert self.page.evaluate("document.documentElement.scrollWidth") <= width

    def counts(self, lot: Lot, figure: str) -> None:
        """The page of that lot is open; the figure is typed and recorded."""
        expect(self.page.locator("main .lot").first).to_have_text(lot.shown_code)
        self.page.get_by_label("Counted, in").fill(figure)
        self.presses("Record and go on")
        expect(self.page.locator(".said")).to_contain_text(lot.shown_code)


@pytest.fixture
def people(browser: Browser, base_url: str) -> Iterator[tuple[Person, Person]]:
    """Odile, the owner, at a desk; Pia, who packs, with a phone."""
    fill_the_book()
    desk = browser.new_context(viewport=DESK, base_url=base_url)  # type: ignore[arg-type]  # a size
    phone = browser.new_context(viewport=PHONE, base_url=base_url, has_touch=True)  # type: ignore[arg-type]  # a size
    yield Person(desk, "odile"), Person(phone, "pia")
    desk.close()
    phone.close()


def test_monday_of_an_owner(people: tuple[Person, Person], base_url: str) -> None:
    odile, pia = people
    sees_what_is_short_and_what_will_expire(odile)
    accepts_the_week(odile)
    orders_what_is_missing(odile)
    count_two_shelves(odile, pia, base_url)
    tries_a_cheaper_oil(odile)
    without_its_script(odile, base_url)
    closes_the_month(odile)


# ---- Stock, the week, orders ---------------------------------------------------------------------


def sees_what_is_short_and_what_will_expire(odile: Person) -> None:
    """Today names it; every order that waits is in the demonstration, so something is short."""
    odile.goes("Today")
    odile.reads(re.compile(r"[Ss]hort"))
    odile.goes("Week", "How long stock lasts")
    odile.reads("weeks")
    odile.goes("What will expire")
    odile.heading(re.compile("will expire (partly )?unused|[Nn]othing expires unused"))


def accepts_the_week(odile: Person) -> None:
    odile.goes("Week")
    odile.heading(re.compile("The week of .+ batch"))
    before = set(Batch.objects.values_list("pk", flat=True))
    change_a_day(odile)
    odile.presses("Accept this week")
    expect(odile.page.get_by_role("status")).to_contain_text("Their lots are reserved")
    planned = Batch.objects.exclude(pk__in=before)
    assert planned
    assert all(Reservation.objects.standing().filter(planned__batch=one) for one in planned)
    odile.heading(re.compile("The week of "))


def change_a_day(odile: Person) -> None:
    """The last day there is for the first line: the rest follows, and it can be taken back."""
    line = odile.page.locator("tr").filter(has=odile.page.get_by_text("Change", exact=True)).first
    line.get_by_text("Change", exact=True).click()
    days = line.locator("select option").count()
    line.locator("select").select_option(index=days - 1)
    line.get_by_role("button", name="Lay out again").click()
    odile.reads("You changed 1 line; the rest follows")
    odile.goes("undo")
    expect(odile.page.get_by_text("the rest follows")).to_have_count(0)


def orders_what_is_missing(odile: Person) -> None:
    odile.goes("Week", "What to buy")
    before = PurchaseOrder.objects.count()
    ticked = odile.page.locator("input[type=checkbox][name^=order-]")
    assert ticked.count() > 0
    if not odile.page.locator("input[type=checkbox][name^=order-]:checked").count():
        ticked.first.check()
    odile.presses("Write the orders")
    expect(odile.page.get_by_role("status")).to_contain_text("Written: ")
    assert PurchaseOrder.objects.count() > before


# ---- Two shelves ---------------------------------------------------------------------------------


def count_two_shelves(odile: Person, pia: Person, base_url: str) -> None:
    """Pia puts three lots on two shelves and counts one of them with the phone, Odile the other."""
    first, second = place("Shelf 1"), place("Shelf 2")
    found = Lot.objects.available(on=timezone.localdate()).filter(item__kind=ItemKind.MATERIAL)
    many = [lot for lot in found.select_related("item").order_by("pk") if lot.on_hand > 2000]
    oil, wax, butter = many[:3]
    puts_away(pia, first, oil, wax)
    puts_away(pia, second, butter)
    rounds = [begins_a_round(odile, shelf) for shelf in ("Shelf 1", "Shelf 2")]
    book = {lot: ledger.on_hand(lot) for lot in (oil, wax, butter)}

    # Pia goes along shelf 1: type and next.
    pia.page.goto(f"{rounds[0]}count/")
    pia.reads("2 lots left to count")
    pia.fits_the_screen(PHONE["width"])
    pia.page.get_by_role("link", name="Next: ").click()
    pia.fits_the_screen(PHONE["width"])
    button = pia.page.get_by_role("button", name="Record and go on").bounding_box()
    assert button is not None
    assert button["height"] >= TARGET_PX
    ahead, after = sorted((oil, wax), key=lambda lot: (lot.item.name, lot.code))
    pia.counts(ahead, f"{book[ahead]}")
    pia.counts(after, f"{book[after] * Decimal('0.8'):.0f}")
    pia.reads("best by somebody else")

    # Odile scans the lot of shelf 2 at the same time, and a code that is none.
    odile.page.goto(f"{rounds[1]}count/")
    odile.page.get_by_label("Scan or type a lot").fill("NOSUCHLOT")
    odile.page.get_by_label("Scan or type a lot").press("Enter")
    odile.reads("No lot has the code NOSUCHLOT")
    odile.page.get_by_label("Scan or type a lot").focus()
    scan(odile.page, butter.code)
    odile.counts(butter, f"{book[butter]}")

    # What was out of tolerance is counted again by the other one, blind.
    odile.page.goto(f"{rounds[0]}count/{after.code}/")
    odile.reads("A second count")
    assert f"{book[after]:.0f}" not in odile.page.locator("main").inner_text().replace("\u202f", "")
    odile.counts(after, f"{book[after] * Decimal('0.8'):.0f}")

    # She sees both counts, says why, signs.
    for address, right in zip(rounds, ("1 of 2", "1 of 1"), strict=True):
        ends_the_round(odile, address)
        odile.reads(f"{right} records were correct")
    assert [ledger.on_hand(lot) for lot in (ahead, butter)] == [book[ahead], book[butter]]
    assert ledger.on_hand(after) == round(book[after] * Decimal("0.8"))
    assert len({one.by for one in Count.objects.filter(line__lot=after)}) == 2


def puts_away(pia: Person, shelf: Place, *lots: Lot) -> None:
    """The shelf is scanned, then each lot."""
    pia.page.goto("/")
    scan(pia.page, shelf.code)
    pia.reads(f"{shelf}: 0 lots")
    pia.page.get_by_label("Lots", exact=False).first.focus()
    for lot in lots:
        scan(pia.page, lot.code)
    pia.presses("Put them here")
    pia.reads(f"{shelf}: {len(lots)} lot")


def begins_a_round(odile: Person, shelf: str) -> str:
    odile.page.goto("/counts/begin/")
    odile.page.get_by_label("Where").select_option(label=shelf)
    odile.page.get_by_label("Tolerance, %").fill("1")
    odile.presses("Begin the round")
    odile.reads("lots counted" if shelf == "Shelf 1" else "lot counted")
    return odile.page.url


def ends_the_round(odile: Person, address: str) -> None:
    odile.page.goto(address)
    odile.goes("End the round")
    for reason in odile.page.get_by_label("Why lot").all():
        reason.fill("Weighed out and never written down")
    odile.page.get_by_label("Your password").fill(PASSWORD)
    odile.presses("Sign and end the round")


# ---- A cheaper oil -------------------------------------------------------------------------------


def tries_a_cheaper_oil(odile: Person) -> None:
    """Olive oil becomes rapeseed oil by the keyboard: cheaper, two labels untrue, kept as draft."""
    page = odile.page
    odile.goes("Formulas", "Try changes to a formula", "Calendula hand salve")
    heading = page.get_by_role("heading", level=1)
    expect(heading).to_contain_text("try it before you make it")
    page.evaluate("window.isTheSamePage = true")

    line = next(
        field
        for field in page.get_by_label("Material of line").all()
        if field.input_value() == "Olive oil"
    )
    line.focus()
    page.keyboard.press("Control+A")
    page.keyboard.type("Rapeseed oil", delay=A_KEY_MS)
    page.keyboard.press("Enter")

    expect(heading).to_contain_text("less a kilogram, two labels untrue")
    said = page.locator("#bench-said")
    expect(said).to_contain_text("Rapeseed oil comes in")
    assert said.get_attribute("aria-live") == "polite"
    labels = page.get_by_role("row").filter(has_text="Calendula hand salve 60 g, US label")
    expect(labels).to_contain_text("untrue")
    expect(labels).to_contain_text("Rapeseed")
    settled(page)
    assert page.evaluate("document.activeElement.value") == "Rapeseed oil"

    # A share by the arrow keys: the rest follows, and nothing was loaded anew.
    share = page.get_by_label("Share of Rapeseed oil")
    before = float(share.input_value())
    share.focus()
    page.keyboard.press("ArrowUp")
    expect(said).to_contain_text(f"Rapeseed oil comes in at {before + 0.1:.1f}")
    expect(page.locator("tfoot")).to_contain_text("100.00")
    assert page.evaluate("window.isTheSamePage") is True

    settled(page)
    page.get_by_role("button", name="Save as draft").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("is kept as draft")
    salve = Formula.objects.get(name="Calendula hand salve")
    draft = Version.objects.get(formula=salve, status=VersionStatus.DRAFT)
    shares = {line.item.name: line.share for line in draft.lines.select_related("item")}
    assert float(shares["Rapeseed oil"]) == pytest.approx(before + 0.1)
    assert "Olive oil" not in shares
    assert sum(shares.values()) == 100


def settled(page: Page) -> None:
    until(page, "!document.querySelector('#bench[aria-busy]')")


def without_its_script(odile: Person, base_url: str) -> None:
    """The same form, sent by its button."""
    browser = odile.page.context.browser
    assert browser is not None
    context = browser.new_context(
        java_script_enabled=False,
        base_url=base_url,
        storage_state=odile.page.context.storage_state(),
    )
    plain = context.new_page()
    plain.goto("/workbench/")
    plain.get_by_role("link", name="Calendula hand salve").click()
    plain.get_by_label("Fill, g").fill("12")
    plain.get_by_role("button", name="Try it").last.click()
    expect(plain.get_by_role("heading", level=1)).to_contain_text("untrue")
    context.close()


# ---- The month -----------------------------------------------------------------------------------


def closes_the_month(odile: Person) -> None:
    """What the page shows is what the workbook's formulas come to, to the cent."""
    odile.page.goto("/costs/")
    odile.heading("Stock value: opening, movements, closing")
    table = odile.page.locator("table")
    shown = [
        [_figure(cell) for cell in row.locator("td").all_inner_texts()]
        for row in table.locator("tbody tr, tfoot tr").all()
    ]
    link = odile.page.get_by_role("link", name="The sum as a workbook").get_attribute("href")
    answer = odile.page.context.request.get(f"{odile.page.url.split('/costs/')[0]}{link}")
    sheet = openpyxl.load_workbook(BytesIO(answer.body())).active
    assert isinstance(sheet, Worksheet)
    rows = [
        [_worth(sheet, column, row) for column in range(2, sheet.max_column + 1)]
        for row in range(4, sheet.max_row + 1)
    ]
    assert rows == shown
    assert len(shown) > 3
    *lines, closing = shown
    assert [sum(column) for column in zip(*lines, strict=True)] == closing
    assert all(sum(line[:-1]) == line[-1] for line in shown)


def _figure(text: str) -> Decimal:
    plain = text.strip().replace("\u202f", "").replace("\u2009", "").replace("−", "-")
    return Decimal(plain or "0")


def _worth(sheet: Worksheet, column: int, row: int) -> Decimal:
    """A cell as a spreadsheet works it out: a figure, or the sum of others."""
    value = sheet.cell(row, column).value
    asked = re.fullmatch(r"=SUM\((\w+:\w+)\)", str(value))
    if not asked:
        return Decimal(str(value or 0)).quantize(Decimal("0.01"))
    left, top, right, bottom = range_boundaries(asked[1])
    return sum(
        (_worth(sheet, x, y) for x in range(left, right + 1) for y in range(top, bottom + 1)),  # type: ignore[arg-type, operator]  # all four are there
        Decimal(0),
    )
