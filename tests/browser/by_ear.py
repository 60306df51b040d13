"""Hands on the keyboard alone, and what a screen reader would say of whatever has the focus."""

from playwright.sync_api import Page

from tests.browser.conftest import SLOW_MS, until
from tests.browser.keys import type_in

MOST_PRESSES = 90
# What is wrong with the focus as it is seen. Source: WCAG 2.2, 2.4.7 (focus visible) and 2.4.11
# (focus not obscured).
UNSEEN = """() => {
    const one = document.activeElement;
    if (!one || one === document.body) return "the focus is lost";
    const box = one.getBoundingClientRect();
    if (!box.width || !box.height) return "nothing of it is seen";
    if (box.bottom <= 0 || box.top >= innerHeight || box.right <= 0 || box.left >= innerWidth)
        return "it is out of sight";
    const hasRing = (it) => {
        const style = getComputedStyle(it);
        return style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
    };
    // A field within a frame has the ring round the frame.
    return hasRing(one) || hasRing(one.parentElement) ? "" : "no ring is round it";
}"""
HERE = "document.activeElement"


class Keyboard:
    """Somebody who sees nothing and has no mouse."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.wire = page.context.new_cdp_session(page)
        self.wire.send("Accessibility.enable")

    def hears(self) -> tuple[str, str]:
        """The role and the name of what has the focus, from the browser's own tree."""
        found = self.wire.send("Runtime.evaluate", {"expression": HERE})["result"]
        told = {"objectId": found["objectId"], "fetchRelatives": False}
        node = self.wire.send("Accessibility.getPartialAXTree", told)["nodes"][0]
        return node["role"]["value"], node.get("name", {}).get("value", "")

    def goes_to(self, role: str, name: str) -> None:
        """By the Tab key; at no stop on the way may the focus be lost, hidden or nameless."""
        heard = [self.hears()]
        while not (heard[-1][0] == role and heard[-1][1].startswith(name)):
            assert len(heard) < MOST_PRESSES, f"no way by the Tab key to {role} {name!r}: {heard}"
            heard.append(self.tabs(heard[-1]))

    def tabs(self, before: tuple[str, str] = ("", "")) -> tuple[str, str]:
        """One stop further."""
        self.page.keyboard.press("Tab")
        here, wrong = self.hears(), self.page.evaluate(UNSEEN)
        assert wrong == "", f"{wrong}: {here}, after {before}"
        assert here[1], f"{here[0]} without a name, after {before}"
        return here

    def types(self, name: str, text: str, role: str = "textbox") -> None:
        """At a hand's pace: what comes faster is a scanner's."""
        self.goes_to(role, name)
        type_in(self.page, text)

    def presses(self, role: str, name: str, key: str = "Enter") -> None:
        self.goes_to(role, name)
        self.page.keyboard.press(key)

    def follows(self, role: str, name: str) -> None:
        """A press that opens another page, which is read from its top or its first field."""
        self.goes_to(role, name)
        with self.page.expect_navigation(timeout=SLOW_MS):
            self.page.keyboard.press("Enter")

    def heading(self, text: str) -> None:
        """The page's one heading of the first level, as it is read out."""
        shown = self.page.get_by_role("heading", level=1)
        until(self.page, f"document.querySelector('h1').innerText.includes({text!r})")
        assert shown.count() == 1
