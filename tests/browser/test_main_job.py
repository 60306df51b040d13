"""The whole job in a real browser, from an empty book to a trace, by clicking alone."""

import re
from io import BytesIO

import pypdfium2
import pytest
import zxingcpp
from playwright.sync_api import Locator, Page, expect
from pypdf import PdfReader

from workshop.core.models import Role, User
from workshop.ledger.proof.checks import run_checks

pytestmark = pytest.mark.django_db(transaction=True)
PASSWORD = "seven quiet kettles"


class Person:
    """Somebody at the screen: fills in forms and presses their buttons."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def goes(self, *names: str) -> None:
        """Follow the links of these names, one after the other."""
        for name in names:
            self.page.get_by_role("link", name=name, exact=True).first.click()

    def fills(self, **values: str | bool) -> None:
        for name, value in values.items():
            field = self.page.locator(f"main [name='{name.replace('__', '-')}']").first
            self.unfolds(field)
            if isinstance(value, bool):
                field.set_checked(value)
            elif field.evaluate("field => field.tagName") == "SELECT":
                words = field.locator("option").filter(has_text=value).first.text_content()
                field.select_option(label=(words or "").strip())
            else:
                field.fill(value)

    def unfolds(self, field: Locator) -> None:
        """Press open what a field is folded away in."""
        for folded in field.locator("xpath=ancestor::details[not(@open)]").all():
            folded.locator("summary").first.click()

    def presses(self, name: str) -> None:
        self.page.locator("main").get_by_role("button", name=name).first.click()

    def sends(self) -> None:
        """Press the one primary button of the page."""
        self.page.locator("main :is(button, input):is(.primary, .btn-primary)").first.click()

    def goes_on(self) -> None:
        """Follow the one primary link of the page."""
        self.page.locator("main a.btn.primary").first.click()

    def reads(self, words: str | re.Pattern[str]) -> None:
        expect(self.page.locator("main")).to_contain_text(words)

    def scans(self, code: str) -> None:
        box = self.page.get_by_label("Scan or type a code")
        box.fill(code)
        box.press("Enter")

    def heading(self) -> str:
        return self.page.get_by_role("heading", level=1).inner_text().replace("\u202f", " ")


@pytest.fixture
def odile(page: Page) -> Person:
    """The owner of an empty book, signed in."""
    User.objects.create_user("odile", password=PASSWORD, role=Role.OWNER, first_name="Odile")
    page.goto("/")
    person = Person(page)
    person.fills(username="odile", password=PASSWORD)
    person.sends()
    return person


def set_up(person: Person) -> None:
    """Everything a workshop knows before its first delivery."""
    person.page.goto("/set-up/workshop/")
    person.fills(
        name="Wren Hollow Works",
        address="The Old Net Loft\nPort Ellery",
        contact="555-0100",
        market="United States",
    )
    person.sends()
    person.page.goto("/goods-in/suppliers/new/")
    person.fills(name="Ostrey Oils Cooperative", email="orders@ostrey.example.com")
    person.sends()
    for code, name, inci in (
        ("OIL-SUN", "Sunflower oil", "Helianthus Annuus (Sunflower) Seed Oil"),
        ("WAX-BEE", "Beeswax, yellow", "Cera Alba"),
    ):
        person.page.goto("/materials/new/")
        person.fills(code=code, name=name, inci_name=inci, is_organic=True, density_g_per_ml="0,92")
        person.sends()
    person.page.goto("/materials/new/packaging/")
    person.fills(code="TIN-60", name="Tin, 60 g")
    person.sends()
    person.page.goto("/goods-in/certificates/new/")
    person.fills(
        supplier="Ostrey Oils Cooperative",
        certifier="Evergrain Assurance",
        number="EXAMPLE-EG-2231",
        valid_from="2026-01-01",
        valid_to="2099-12-31",
    )
    for name in ("Sunflower oil", "Beeswax, yellow"):
        person.page.get_by_label(name).check()
    person.sends()


def make_formula(person: Person) -> None:
    person.page.goto("/formulas/bulk/new/")
    person.fills(code="BULK-SAL", name="Hand salve, bulk")
    person.sends()
    person.page.goto("/formulas/new/")
    person.fills(name="Hand salve", item="Hand salve, bulk")
    person.sends()
    person.sends()
    person.fills(
        lines__0__item="Sunflower oil",
        lines__0__share="80",
        lines__1__item="Beeswax",
        lines__1__share="20,0000",
        lines__1__is_irreversible=True,
        steps__0__text="Melt together, stir",
        steps__0__from_c="65",
        steps__0__to_c="80",
        claims_organic=True,
    )
    person.sends()
    person.presses("Approve")
    person.reads("approved")


def equip(person: Person) -> None:
    person.page.goto("/kettle/equipment/kettle/")
    person.fills(name="Small kettle", capacity_g="2500", material="Stainless steel")
    person.sends()
    person.page.goto("/kettle/equipment/scale/")
    person.fills(name="Bench scale", division_g="0.5", capacity_g="6000")
    person.sends()
    person.page.goto("/packing/products/new/")
    person.fills(
        code="SAL-60",
        name="Hand salve 60 g",
        bulk="Hand salve, bulk",
        container="Tin, 60 g",
        fill_g="60",
        label_name="Hand salve",
        gtin="952 0000 7006 07",
        claims_organic=True,
    )
    person.sends()
    person.reads("9520000700607")


def receive(person: Person) -> str:
    """A delivery of three lots, all found good and released; its reference."""
    person.goes("Goods-in", "Receive a delivery")
    person.fills(
        supplier="Ostrey Oils Cooperative",
        delivery_note="OS-14509",
        certificate="EXAMPLE-EG-2231",
    )
    lots = (
        ("sunfl", "SUN-0117", "3 × 5 kg", "2099-01-31"),
        ("Beeswax, yellow", "BEE-2277", "2 lb", "2099-01-31"),
        ("Tin, 60 g", "TIN-9", "2 × 50", ""),
    )
    for row, lot in enumerate(lots):
        names = ("item", "supplier_lot", "quantity_as_written", "makers_expiry")
        values = dict(zip(names, lot, strict=True))
        person.fills(**{f"lines__{row}__{name}": value for name, value in values.items()})
    person.fills(all_conform=True)
    person.sends()
    person.reads("907.185")  # 2 lb, NIST SP 811: 0.453 592 37 kg to the pound
    reference = re.search(r"R-\d{4}-\d+", person.heading())
    assert reference
    person.sends()
    person.reads("released")
    return reference.group()


def cook(person: Person) -> None:
    """A kilogram of salve: planned, weighed, poured, released, closed."""
    person.goes("Kettle", "Plan a batch")
    person.fills(version="Hand salve", kettle="Small kettle", scale="Bench", target_g="1000")
    person.sends()
    person.reads("800.0")
    person.goes_on()
    for item, grams in (("Sunflower oil", "800"), ("Beeswax, yellow", "200,5")):
        expect(person.page.get_by_role("heading", name=item)).to_be_visible()
        person.page.locator("#figure").fill(grams)
        person.page.locator("[data-part='record']").click()
        person.page.wait_for_timeout(750)  # within 0.7 s it would be a double tap
    expect(person.page.get_by_role("heading", name="All ingredients are in.")).to_be_visible()
    person.goes_on()
    person.fills(part__0__measured_g="985,5")
    person.sends()
    person.goes("Release the bulk")
    person.fills(password=PASSWORD)
    person.sends()
    person.presses("Close and seal")
    person.reads("closed")


def pack(person: Person) -> str:
    """Fifteen tins of it, weighed while pouring, released; the code of the lot."""
    person.goes("Packing", "Pack Hand salve 60 g")
    person.fills(units="15")
    person.sends()
    person.fills(weights="60.4 60.2 60.3 60.5 60.2 60.4 60.1 60.3 60.2 60.1 60.6 60.3")
    person.sends()
    person.reads("passes")
    person.goes("Finish the run")
    person.sends()
    code = re.search(r"lot (\w{4}-\w{3})", person.heading())
    assert code
    person.presses("Release the lot")
    return code.group(1)


def print_labels(person: Person) -> bytes:
    """The PDF of one label, as the label page offers it, and a sheet of fifteen printed."""
    person.goes("Label")
    seen = person.page.get_by_role("button", name="See it as PDF").get_attribute("formaction")
    size = person.page.get_by_label("On", exact=True).input_value()
    home = person.page.url.rsplit("/labels", 1)[0]
    single = person.page.context.request.get(f"{home}{seen}?layout={size}")
    person.presses("Print labels")
    person.fills(count="15")
    person.sends()
    opens_the_sheet(person, "15 labels of lot")
    return single.body()


def opens_the_sheet(person: Person, logged: str) -> None:
    """The page of the label says what was noted, and opens the sheet in a tab of its own."""
    said = person.page.get_by_role("status")
    expect(said).to_contain_text(logged)
    with person.page.context.expect_event(
        "response", lambda answer: "/labels/prints/" in answer.url
    ) as printed:
        said.get_by_role("link", name="Open the PDF").click()
    assert printed.value.headers["content-type"] == "application/pdf"


def codes_on(pdf: bytes) -> set[str]:
    """What a scanner reads off the first page at 300 dpi."""
    with pypdfium2.PdfDocument(pdf) as document:
        picture = document[0].render(scale=300 / 72).to_pil()
    return {code.text for code in zxingcpp.read_barcodes(picture)}


def send_out(person: Person, code: str) -> None:
    person.page.goto("/dispatch/customers/new/")
    person.fills(name="Quillan Street Chemist", email="orders@quillan.example.com")
    person.sends()
    person.goes("Dispatch", "Send lots out")
    person.fills(customer="Quillan Street Chemist", customer_reference="PO 77")
    person.fills(rows__0__lot=code, rows__0__units="12")
    person.presses("Send out")
    person.reads("12")


def test_delivery_becomes_tins_whose_code_leads_back_to_it(odile: Person) -> None:
    set_up(odile)
    make_formula(odile)
    equip(odile)
    receipt = receive(odile)
    cook(odile)
    code = pack(odile)

    label = print_labels(odile)
    assert codes_on(label) == {code.replace("-", ""), "9520000700607"}
    words = " ".join(PdfReader(BytesIO(label)).pages[0].extract_text().split())
    # The order of 21 CFR 701.3(a): descending weight, here 800 g of oil to 200.5 g of wax.
    assert "Helianthus Annuus (Sunflower) Seed Oil*, Beeswax*" in words
    assert "Net wt. 2.11 oz (60 g)" in words

    odile.page.goto("/")
    send_out(odile, code)
    odile.scans(code.lower().replace("-", " "))
    odile.reads(receipt)
    for found in ("SUN-0117", "BEE-2277", "EXAMPLE-EG-2231", "Quillan Street Chemist"):
        odile.reads(found)
    odile.scans("SUN-0117")
    odile.reads(code)
    odile.reads("Quillan Street Chemist")
    assert [finding for finding in run_checks() if not finding.is_sound] == []
