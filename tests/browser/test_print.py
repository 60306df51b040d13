"""Paper and phone show what a wide screen shows, to its last digit."""

import re
from decimal import Decimal

import pypdfium2
import pytest
from django.urls import reverse
from playwright.sync_api import Page, PdfMargins, ViewportSize

from tests import make
from tests.dispatch import build as dispatch
from tests.trace import rooms
from workshop.core.models import Role, User
from workshop.ledger.models import ItemKind, Lot

pytestmark = pytest.mark.django_db(transaction=True)
PASSWORD = "seven quiet kettles"
SHEET: ViewportSize = {
    "width": 718,
    "height": 1000,
}  # A4 less a centimetre on each side, at 96 dots an inch
FIGURE = re.compile(r"\d[\d.]*")
RIGHT_EDGES = "tables => tables.map(table => Math.floor(table.getBoundingClientRect().right))"
# Figures that reach out of the window, or out of something that cuts them off or moves sideways.
CUT = """() => {
    const cells = [...document.querySelectorAll("main :is(td, dd, h1, .num)")];
    const isCut = (cell) => {
        const range = document.createRange();
        range.selectNodeContents(cell);
        const box = range.getBoundingClientRect();
        const rooms = [document.documentElement];
        for (let room = cell; room !== document.body; room = room.parentElement)
            if (getComputedStyle(room).overflowX !== "visible") rooms.push(room);
        return box.width && rooms.some((room) =>
            box.right > room.getBoundingClientRect().right + 1 ||
            box.left < room.getBoundingClientRect().left - 1);
    };
    return cells
      .filter((cell) => /\\d/.test(cell.textContent) && cell.checkVisibility() && isCut(cell))
      .map((cell) => cell.textContent.trim());
}"""
PHONE: ViewportSize = {"width": 390, "height": 844}
WIDE: ViewportSize = {"width": 1280, "height": 800}


def full_house() -> str:
    """A recall that reaches two dozen shops, and stock with digits behind the point."""
    house = rooms.House()
    for number in range(24):
        shop = dispatch.customer(
            f"Shop of the long name by quay {number}",
            contact="Ivo Marn",
            telephone="+1 555 0100",
            email=f"orders.and.questions@shop{number}.example.com",
        )
        dispatch.sent((house.tins, 1), to=shop, customer_reference=f"their order {number} of May")
        make.lot(make.item(ItemKind.MATERIAL), on_hand=Decimal(f"{number + 1}4711.525"))
    return rooms.recall(house.wax).reference


def printed(page: Page) -> str:
    """The words of the page's own PDF, without any space."""
    margin: PdfMargins = {"top": "1cm", "right": "1cm", "bottom": "1cm", "left": "1cm"}
    document = pypdfium2.PdfDocument(page.pdf(format="A4", margin=margin))
    assert len(document) > 1
    return _close(" ".join(sheet.get_textpage().get_text_range() for sheet in document))


def _close(text: str) -> str:
    return re.sub(r"\s", "", text)


def test_printed_page_shows_every_digit_and_its_sums_once(page: Page) -> None:
    reference = full_house()
    User.objects.create_user("odile", password=PASSWORD, role=Role.OWNER)
    page.goto(reverse("ledger:home"))
    page.get_by_label("Username").fill("odile")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("heading", name="Stock on hand").wait_for()

    for address in (
        reverse("aftersales:recall", args=[reference]),
        reverse("aftersales:recall-rows", args=[reference, "customers"]),
        reverse("ledger:home"),
        reverse("dispatch:home"),
    ):
        page.goto(address)
        shown = page.locator("main td.num").all_inner_texts()
        figures = [figure for cell in shown for figure in FIGURE.findall(_close(cell))]
        assert len(figures) > 20, address
        words = printed(page)
        assert [figure for figure in figures if figure not in words] == [], address
        assert words.count("Allcustomers") <= 1, address
        page.emulate_media(media="print")
        page.set_viewport_size(SHEET)
        edges = page.locator("main table").evaluate_all(RIGHT_EDGES)
        assert max(edges) <= SHEET["width"], address
        page.emulate_media(media="screen")
        page.set_viewport_size(WIDE)
    page.set_viewport_size(PHONE)
    lot = Lot.objects.with_on_hand().order_by("-on_hand")[0]
    for address in (
        reverse("aftersales:recall", args=[reference]),
        reverse("aftersales:recall-rows", args=[reference, "customers"]),
        reverse("ledger:home"),
        reverse("ledger:item", args=[lot.item.code]),
        reverse("ledger:lot", args=[lot.code]),
        reverse("trace:lot", args=[lot.code]),
        reverse("dispatch:home"),
        reverse("packing:runs"),
        reverse("kettle:home"),
    ):
        page.goto(address)
        assert page.evaluate(CUT) == [], address
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), address
