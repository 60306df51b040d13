"""The pictures of a paper, which are laid out as CSS says, each on a page of its own."""

from collections.abc import Iterator
from dataclasses import dataclass
from html import unescape

from django.utils.html import escape
from weasyprint import CSS, HTML

from workshop.core.paper.barcodes import bars_in
from workshop.core.paper.css_layout import NOTHING_OUTSIDE, fonts, style_sheet
from workshop.core.paper.typeset.chunks import PT_PER_MM
from workshop.core.paper.typeset.lines import INLINE
from workshop.core.paper.typeset.reading import Element

PT_PER_PX = 0.75
HIGH_PT = 250 * PT_PER_MM
PAGE = (
    "@page { size: %.2fpt %.2fpt; margin: 0; @bottom-left { content: none }"
    " @bottom-center { content: none } @bottom-right { content: none } }"
    " body { page: auto !important } .alone { break-before: page }"
    " .alone:first-child { break-before: auto } img, svg { display: block }"
)


@dataclass(frozen=True)
class Picture:
    """Where it stands on its page, from the upper left."""

    left_pt: float
    top_pt: float
    width_pt: float
    height_pt: float


def taken_out(element: Element, drawings: list[str]) -> Iterator[str]:
    """The HTML of each picture; in its place `element` says <picture number="…">.

    A drawing among words is a sign that says again what they say, and paper leaves it out. A linear
    code stays where it is.
    """
    found: list[str] = []
    _take(element, drawings, found)
    yield from found


def _take(element: Element, drawings: list[str], found: list[str]) -> None:
    for one in element.elements:
        said = one.attributes.get("alt", "")
        if one.name == "img" and bars_in(one.attributes["src"]):
            continue
        if one.name == "img":
            source, classes = escape(one.attributes["src"]), escape(" ".join(one.classes))
            html = f'<img id="picture-{len(found)}" class="{classes}" src="{source}">'
        elif one.name == "drawing" and element.name not in INLINE:
            drawing = drawings[int(one.attributes["number"])]
            said = _label(drawing)
            named = drawing.replace("<svg", f'<svg id="picture-{len(found)}"', 1)
            html = f'<div class="{escape(" ".join(element.classes))}">{named}</div>'
        else:
            _take(one, drawings, found)
            continue
        one.name = "picture"
        one.attributes |= {"number": str(len(found)), "alt": said}
        found.append(html)


def _label(drawing: str) -> str:
    _, _, rest = drawing.partition('aria-label="')
    return unescape(rest.partition('"')[0])


def laid_out(
    pictures: list[str], classes: list[str], width_pt: float
) -> tuple[bytes, list[Picture]]:
    """A PDF with a page for each picture, and where on it the picture stands."""
    if not pictures:
        return b"", []
    alone = "".join(f'<div class="alone">{html}</div>' for html in pictures)
    html = f'<body class="{escape(" ".join(classes))}">{alone}'
    style = CSS(string=PAGE % (width_pt, HIGH_PT), url_fetcher=NOTHING_OUTSIDE)
    page = HTML(string=html, url_fetcher=NOTHING_OUTSIDE)
    document = page.render(stylesheets=[style_sheet("css/paper.css"), style], font_config=fonts())
    places = [page.anchors[f"picture-{number}"] for number, page in enumerate(document.pages)]
    return document.write_pdf(), [Picture(*_sides(*place)) for place in places]


def _sides(left: float, top: float, right: float, bottom: float) -> Iterator[float]:
    return (side * PT_PER_PX for side in (left, top, right - left, bottom - top))
