"""The family tree of two hundred lots as a browser draws it: nothing overlaps, all can be read."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.trace.test_diagram import orchard
from workshop.core.models import Role, User

pytestmark = pytest.mark.django_db(transaction=True)
PASSWORD = "seven quiet kettles"
# Every line of text that leaves its box or runs into another one, as the browser measured it.
FAULTS = """
() => [...document.querySelectorAll(".family a")].flatMap((link) => {
  const box = link.querySelector("rect").getBoundingClientRect();
  const lines = [...link.querySelectorAll("text")].map((line) => line.getBoundingClientRect());
  const out = lines.some((l) => l.left < box.left || l.right > box.right + 0.5);
  const over = lines.some((l, i) => lines.slice(i + 1).some(
    (m) => l.left < m.right && m.left < l.right && l.top + 3 < m.bottom && m.top + 3 < l.bottom));
  return out || over ? [link.textContent.trim().replace(/\\s+/g, " ")] : [];
})
"""
SMALLEST = """
() => Math.min(...[...document.querySelectorAll(".family text")].map(
  (line) => parseFloat(getComputedStyle(line).fontSize) * line.getScreenCTM().a))
"""


@pytest.mark.parametrize("nodes", [22, 200])
def test_every_label_stays_in_its_box_and_can_be_read(page: Page, nodes: int) -> None:
    lot = orchard(nodes)
    User.objects.create_user("odile", password=PASSWORD, role=Role.OWNER)
    page.set_viewport_size({"width": 1280, "height": 800})
    page.goto(f"/trace/{lot.code}/")
    page.get_by_label("Username").fill("odile")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()

    expect(page.locator(".family a")).to_have_count(nodes)
    expect(page.locator(".family a.asked")).to_have_count(1)
    assert page.evaluate(FAULTS) == []
    assert page.evaluate(SMALLEST) >= 11
    faults = Axe().run(page)
    assert faults.violations_count == 0, faults.generate_report()
