"""Signing in and out in a real browser, with nothing refused by our own content policy."""

import pytest
from playwright.sync_api import ConsoleMessage, Page, expect

from workshop.core.models import Role, User
from workshop.dispatch.models import Customer

pytestmark = pytest.mark.django_db(transaction=True)
PASSWORD = "seven quiet kettles"


@pytest.fixture
def complaints(page: Page) -> list[str]:
    """What the browser wrote to its console as a warning or an error."""
    heard: list[str] = []

    def hear(message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            heard.append(message.text)

    page.on("console", hear)
    page.on("pageerror", lambda error: heard.append(str(error)))
    return heard


def test_maker_signs_in_sees_today_and_signs_out(page: Page, complaints: list[str]) -> None:
    User.objects.create_user("tamsin", password=PASSWORD, role=Role.MAKER)
    page.goto("/")
    page.get_by_label("Username").fill("tamsin")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()

    expect(page.get_by_role("heading", name="Nothing is waiting")).to_be_visible()
    page.get_by_role("link", name="tamsin, maker").click()
    page.get_by_role("button", name="Sign out").click()

    expect(page.get_by_role("heading", name="Sign in to the book")).to_be_visible()
    assert complaints == []


def test_wrong_password_keeps_the_name_and_says_what_to_do(page: Page) -> None:
    User.objects.create_user("tamsin", password=PASSWORD, role=Role.MAKER)
    page.goto("/sign-in/")
    page.get_by_label("Username").fill("tamsin")
    page.get_by_label("Password").fill("guess")
    page.get_by_role("button", name="Sign in").click()

    sentence = "Name or password is wrong. Both are case-sensitive."
    expect(page.get_by_text(sentence)).to_be_visible()
    expect(page.get_by_label("Username")).to_have_value("tamsin")


def test_back_after_signing_out_shows_nothing_of_the_book(page: Page) -> None:
    User.objects.create_user("odile", password=PASSWORD, role=Role.OWNER)
    Customer.objects.create(name="Ostrell Larder", contact="Pia")
    page.goto("/")
    page.get_by_label("Username").fill("odile")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.goto("/dispatch/customers/")
    expect(page.get_by_text("Ostrell Larder")).to_be_visible()
    page.get_by_role("link", name="odile, owner").click()
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="Sign in to the book")).to_be_visible()

    for _ in range(2):
        page.go_back()
        expect(page.get_by_role("heading", name="Sign in to the book")).to_be_visible()
        expect(page.get_by_text("Ostrell Larder")).to_have_count(0)


@pytest.mark.parametrize("delay_ms", [0, 5, 20, 35])
def test_password_typed_as_fast_as_a_scanner_signs_in(page: Page, delay_ms: int) -> None:
    """Who has it by heart, or a program that keeps it, types no slower than a scanner."""
    User.objects.create_user("tamsin", password=PASSWORD, role=Role.MAKER)
    page.goto("/sign-in/")
    page.get_by_label("Username").press_sequentially("tamsin", delay=delay_ms)
    page.get_by_label("Password").press_sequentially(PASSWORD, delay=delay_ms)
    page.keyboard.press("Enter")

    expect(page.get_by_role("heading", name="Nothing is waiting")).to_be_visible()
