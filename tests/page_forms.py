"""The form of a page as a browser would send it back, for tests that press its button again."""

from html.parser import HTMLParser
from typing import Any

UNTICKED = ("checkbox", "radio")


class _Form(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.sent: dict[str, list[str]] = {}
        self._select = self._textarea = ""
        self._text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        name = given.get("name") or ""
        if tag == "input" and name and given.get("type") not in ("submit", "file"):
            if given.get("type") not in UNTICKED or "checked" in given:
                self._add(name, given.get("value") or "")
        elif tag == "select":
            self._select = name
        elif tag == "option" and self._select and "selected" in given:
            self._add(self._select, given.get("value") or "")
        elif tag == "textarea":
            self._textarea, self._text = name, []

    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea":
            self._add(self._textarea, "".join(self._text).lstrip("\n"))
            self._textarea = ""
        if tag == "select":
            self._select = ""

    def handle_data(self, data: str) -> None:
        if self._textarea:
            self._text.append(data)

    def _add(self, name: str, value: str) -> None:
        self.sent.setdefault(name, []).append(value)


def form_of(answer: Any) -> dict[str, Any]:
    """What the page's form holds now, by field."""
    reader = _Form()
    reader.feed(answer.content.decode())
    reader.sent.pop("csrfmiddlewaretoken", None)
    reader.sent.pop("q", None)  # the scan box on top of every page
    return dict(reader.sent)
