"""An inspector's hour on the demonstration: balances, trace-backs, the pack, by one person."""

from io import BytesIO, StringIO
from pathlib import Path
from time import monotonic
from zipfile import ZipFile

import pytest
from django.core.management import call_command
from django.utils import timezone
from playwright.sync_api import Page, expect

from tests.browser.test_drill_on_demo import PASSWORD, Person
from workshop.core.models import User
from workshop.ledger.models import ItemKind, Lot
from workshop.organic.models import Pack

pytestmark = pytest.mark.django_db(transaction=True)
TEN_MINUTES = 600


@pytest.fixture
def inspector(page: Page) -> Person:
    call_command("demo", until=timezone.localdate(), months=2, stdout=StringIO())
    visitor = User.objects.get(username="inspector")
    visitor.set_password(PASSWORD)
    visitor.save()
    page.goto("/")
    page.get_by_label("Username").fill("inspector")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    return Person(page)


def finds(person: Person, words: str) -> None:
    box = person.page.locator("form.scan input[name=q]").first
    box.click()
    person.types(box, words)
    box.press("Enter")


def test_inspection_takes_less_than_ten_minutes(inspector: Person) -> None:
    page = inspector.page
    tins = Lot.objects.filter(item__kind=ItemKind.PRODUCT).order_by("pk")[:2]
    oil = Lot.objects.filter(item__code="OIL-OLI").order_by("pk")[0]
    begun = monotonic()

    for name in ("Olive oil", "Beeswax, yellow", "Shea butter"):
        finds(inspector, "mass balance")
        inspector.goes("Mass balances")
        inspector.goes(name)
        expect(page.get_by_role("heading", name=f"Mass balance: {name}")).to_be_visible()
        expect(page.get_by_text("D. Closing stock")).to_be_visible()
    for lot in (*tins, oil):
        finds(inspector, lot.shown_code)
        expect(page.get_by_text(lot.shown_code).first).to_be_visible()
        expect(page.get_by_role("heading", name="Reconciliation").first).to_be_visible()
    finds(inspector, "205.403")
    inspector.goes("Inspector's pack")
    inspector.types(page.get_by_label("Words for the draw"), "a fine day")
    inspector.presses("Make the pack")
    expect(page.get_by_role("link", name="Save the pack")).to_be_visible(timeout=120_000)
    with page.expect_download() as handed:
        inspector.goes("Save the pack")
    pack = Pack.objects.get()
    content = Path(handed.value.path()).read_bytes()

    assert "pack.pdf" in ZipFile(BytesIO(content)).namelist()
    assert len(pack.drawn) == 3
    assert monotonic() - begun < TEN_MINUTES
