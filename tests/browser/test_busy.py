"""A form that was sent while an import writes to the book, in a real browser."""

from playwright.sync_api import Page, expect

from tests.core.busy import written_to_elsewhere
from workshop.core.models import Role, User, Workshop

PASSWORD = "sieve lanolin at dusk"
ADDRESS = "4 Quay Lane\nOstrey"


def test_nothing_typed_is_lost_while_an_import_writes(page: Page) -> None:
    User.objects.create_user("odile", password=PASSWORD, role=Role.OWNER)
    page.goto("/set-up/workshop/")
    page.get_by_label("Username").fill("odile")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_label("Name").fill("Wren Hollow Works")
    page.get_by_label("Address").fill(ADDRESS)

    with written_to_elsewhere():
        page.locator("main form button, main form input[type=submit]").first.click()
        expect(page.get_by_role("heading", name="Not in the book yet")).to_be_visible()
        page.get_by_role("button", name="Send it again").click()
        expect(page.get_by_role("heading", name="Not in the book yet")).to_be_visible()
        page.get_by_text("What you had filled in").last.click()
        expect(page.get_by_text("4 Quay Lane")).to_be_visible()
        other = page.context.new_page()
        other.goto("/materials/")
        expect(other.get_by_role("heading", name="Materials")).to_be_visible()
        other.close()
    page.get_by_role("button", name="Send it again").click()

    expect(page.get_by_text("From now on labels name Wren Hollow Works")).to_be_visible()
    kept = Workshop.objects.get()
    assert kept.address.splitlines() == ADDRESS.splitlines()
