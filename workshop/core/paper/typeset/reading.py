"""The HTML of a paper, read into elements."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser

DRAWING = re.compile(r"<svg\b.*?</svg>", re.DOTALL)
ALONE = {"br", "img", "meta", "hr", "wbr", "drawing"}


@dataclass
class Element:
    name: str
    attributes: dict[str, str] = field(default_factory=dict)
    inside: list["Element | str"] = field(default_factory=list)

    @property
    def classes(self) -> list[str]:
        return self.attributes.get("class", "").split()

    @property
    def elements(self) -> Iterator["Element"]:
        return (one for one in self.inside if isinstance(one, Element))

    def all(self, *names: str) -> Iterator["Element"]:
        """Those of that name within it, at any depth, in the order of the page."""
        for one in self.elements:
            if one.name in names:
                yield one
            yield from one.all(*names)

    @property
    def text(self) -> str:
        words = (one if isinstance(one, str) else one.text for one in self.inside)
        return " ".join("".join(words).split())


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.open = [Element("document")]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, {name: value or "" for name, value in attrs})
        self.open[-1].inside.append(element)
        if tag not in ALONE:
            self.open.append(element)

    def handle_endtag(self, tag: str) -> None:
        if tag in ALONE:
            return
        while len(self.open) > 1 and self.open.pop().name != tag:
            pass

    def handle_data(self, data: str) -> None:
        self.open[-1].inside.append(data)


def read(html: str) -> tuple[Element, list[str]]:
    """The elements, and the drawings, each of which stands as <drawing number="…"> among them."""
    drawings: list[str] = []

    def keep(found: re.Match[str]) -> str:
        drawings.append(found[0])
        return f'<drawing number="{len(drawings) - 1}">'

    reader = _Reader()
    reader.feed(DRAWING.sub(keep, html))
    reader.close()
    return reader.open[0], drawings
