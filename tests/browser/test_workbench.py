"""Trying a cheaper oil in the demonstration's salve, by the keyboard alone."""

from io import StringIO

import pytest
from django.core.management import call_command
from django.utils import timezone
from playwright.sync_api import Page, expect

from tests.browser.conftest import until
from workshop.core.models import User
from workshop.formulas.models import Formula, Version, VersionStatus

pytestmark = pytest.mark.django_db(transaction=True)
PASSWORD = "seven quiet kettles"
A_KEY_MS = 90  # a person, not a scanner


def fill_the_book() -> Formula:
    """Two months up to today, as the command fills an empty book."""
    call_command("demo", months=2, until=timezone.localdate(), stdout=StringIO())
    odile = User.objects.get(username="odile")
    odile.set_password(PASSWORD)
    odile.save()
    return Formula.objects.get(name="Calendula hand salve")


def sign_in(page: Page) -> None:
    page.goto("/")
    page.get_by_label("Username").fill("odile")
    page.get_by_label("Password").fill(PASSWORD)
    page.keyboard.press("Enter")
    expect(page.get_by_role("link", name="Formulas")).to_be_visible()


def settled(page: Page) -> None:
    until(page, "!document.querySelector('#bench[aria-busy]')")


def test_cheaper_oil_by_the_keyboard(page: Page) -> None:
    """Olive oil becomes rapeseed oil: cheaper, both labels untrue, and kept as a draft."""
    salve = fill_the_book()
    sign_in(page)
    page.get_by_role("link", name="Formulas").click()
    page.get_by_role("link", name="Try one another way").click()
    page.get_by_role("link", name="Calendula hand salve").click()
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
    page.get_by_role("button", name="Keep as draft").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("is kept as draft")
    draft = Version.objects.get(formula=salve, status=VersionStatus.DRAFT)
    shares = {line.item.name: line.share for line in draft.lines.select_related("item")}
    assert float(shares["Rapeseed oil"]) == pytest.approx(before + 0.1)
    assert "Olive oil" not in shares
    assert sum(shares.values()) == 100

    without_its_script(page)


def without_its_script(page: Page) -> None:
    """The same form, sent by its button."""
    browser = page.context.browser
    assert browser is not None
    address = page.url.partition("/formulas/")[0]
    context = browser.new_context(java_script_enabled=False, base_url=address)
    plain = context.new_page()
    sign_in(plain)
    plain.goto("/workbench/")
    plain.get_by_role("link", name="Calendula hand salve").click()
    plain.get_by_label("Fill, g").fill("12")
    plain.get_by_role("button", name="Try it").last.click()
    expect(plain.get_by_role("heading", level=1)).to_contain_text("untrue")
    context.close()
