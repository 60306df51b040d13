"""A label laid out once, at the largest type that fits; nothing is ever cut off."""

from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, Decimal
from functools import cached_property
from pathlib import Path
from typing import Any

from django.contrib.staticfiles import finders
from django.template.loader import render_to_string
from weasyprint import CSS, HTML

from workshop.core.errors import Refused
from workshop.core.paper import NOTHING_OUTSIDE
from workshop.core.shown import number
from workshop.labels.codes import codes_of, numbered_code_mm
from workshop.labels.content import Label
from workshop.labels.layouts import Layout
from workshop.labels.models import Carries
from workshop.rules.net_contents import (
    smallest_ingredient_type_in,
    smallest_type_eu_mm,
    smallest_type_us,
    stands_low_enough,
)

# Heights of DejaVu Sans in parts of its size: the small o without its overshoot, and a figure.
SMALL_LETTER = Decimal("0.547")
FIGURE = Decimal("0.729")
MM_PER_INCH = Decimal("25.4")
PX_PER_MM = Decimal(96) / MM_PER_INCH
# Heights of a letter that are tried above the least that is allowed.
TRIED_MM = tuple(map(Decimal, ("0.9", "1.0", "1.15", "1.3", "1.45", "1.7", "1.85", "2.1", "2.4")))
WHOLE_PACKAGE_SQ_IN = 12
HAIR_MM = Decimal("0.1")
# The space below a paragraph in parts of the type, and a little.
PARAGRAPH = Decimal("0.3")
# From this width on, the code of the lot and that of the GTIN stand side by side.
BOTH_CODES_MM = Decimal(85)

# The parts of a label by the ids they have, as a sentence names one that does not fit.
PARTS = {
    "name": "the name",
    "identity": "what it is",
    "organic": "the organic statement",
    "claims": "the claims",
    "list": "the ingredient list",
    "directions": "the directions",
    "cautions": "the cautions",
    "maker": "the maker's name and address",
    "code": "the bar code",
    "lot": "the lot and its date",
    "gtin": "the bar code of the GTIN",
    "net": "the net contents",
}
PAPER, STICKER = "labels/paper.html", "labels/paper_sticker.html"


@dataclass(frozen=True)
class Drawn:
    """One label laid out on its exact size; letters are measured by a small o."""

    document: Any
    layout: Layout
    letter_mm: Decimal
    least_mm: Decimal
    warnings: tuple[str, ...]

    @property
    def type_mm(self) -> Decimal:
        """The size of type that stands for the letters."""
        return _type_mm(self.letter_mm)

    @cached_property
    def pdf(self) -> bytes:
        written: bytes = self.document.write_pdf()
        return written


@dataclass(frozen=True)
class _Sizes:
    """Heights of letters, in millimetres."""

    letter_mm: Decimal
    net_mm: Decimal
    spacer_mm: Decimal = Decimal(0)


def least_letter_mm(label: Label) -> Decimal:
    """The least height of any letter on the label, as 21 CFR 701.3(b) and (p) ask for the list."""
    area = 0 if label.product.is_small_package else WHOLE_PACKAGE_SQ_IN
    inches = smallest_ingredient_type_in(area)
    return MM_PER_INCH * inches.numerator / inches.denominator


def draw(label: Label, layout: Layout, *, preview: bool = False, numbered: bool = False) -> Drawn:
    """Lay a label out at the largest type that fits, its net contents lowest.

    A `numbered` one leaves room for a number and a code of its own on each label.

    Raises Refused, naming what does not fit, when even the least legal type is too large.
    """
    page = _Page(label, layout, preview=preview, numbered=numbered)
    return _drawn(page, _least_net_mm(label, layout))


def draw_sticker(label: Label, layout: Layout, *, preview: bool = False) -> Drawn:
    """The sticker "new ingredient list" of 21 CFR 701.3(n), for a label that is otherwise true."""
    return _drawn(_Page(label, layout, preview=preview, template=STICKER), Decimal(0))


# The sizes found for a label's markup on a layout: seen once, it is laid out at once again.
_FOUND: dict[tuple[str, Layout], "_Sizes"] = {}
MOST_FOUND = 500


def _drawn(page: "_Page", least_net: Decimal) -> Drawn:
    least = least_letter_mm(page.label) if page.template == PAPER else MM_PER_INCH / 16
    sizes = _FOUND.get(page.key)
    if sizes is None:
        letters = [least, *(mm for mm in TRIED_MM if mm > least)]
        tried = [_Sizes(letter, max(letter, least_net)) for letter in letters]
        sizes = _best_sizes(page, tried, least)
        if len(_FOUND) >= MOST_FOUND:
            _FOUND.clear()
        _FOUND[page.key] = sizes
    document = page.laid_out(sizes)
    warnings = _placed_wrongly(page.label, page.layout, document)
    return Drawn(document, page.layout, sizes.letter_mm, least, tuple(warnings))


def _best_sizes(page: "_Page", tried: list["_Sizes"], least: Decimal) -> "_Sizes":
    found, missing = _largest_that_fits(page, tried)
    if found is None:
        raise Refused(
            f"On {page.layout.size} there is no room for {_spoken(missing)}, with letters "
            f"{number(least, most=1)} mm high, the least that is allowed. Choose a larger label.",
            field="layout",
        )
    return _with_foot_down(page, *found)


def fits(label: Label, layout: Layout) -> bool:
    """Whether the label has room at the least type; quicker than drawing it."""
    least = least_letter_mm(label)
    sizes = _Sizes(least, max(least, _least_net_mm(label, layout)))
    return not _does_not_fit(_Page(label, layout, preview=False).laid_out(sizes), layout)


def _largest_that_fits(
    page: "_Page", tried: list[_Sizes]
) -> tuple[tuple[Any, _Sizes] | None, list[str]]:
    """The laid-out label by halving the sizes, or what the smallest one leaves out."""
    found: tuple[Any, _Sizes] | None = None
    missing: list[str] = []
    low, high = 0, len(tried)
    while low < high:
        middle = (low + high) // 2
        document = page.laid_out(tried[middle])
        missing = _does_not_fit(document, page.layout)
        if missing:
            high = middle
        else:
            found, low = (document, tried[middle]), middle + 1
    return found, missing


class _Page:
    """The markup of one label, to be laid out at several sizes."""

    def __init__(
        self,
        label: Label,
        layout: Layout,
        *,
        preview: bool,
        template: str = PAPER,
        numbered: bool = False,
    ) -> None:
        self.label, self.layout, self.template = label, layout, template
        self.code_mm = numbered_code_mm(label, layout) if numbered else Decimal(0)
        context = {
            "label": label,
            "layout": layout,
            "preview": preview,
            "numbered": numbered,
            "wide": layout.inner_width_mm >= BOTH_CODES_MM and not layout.is_wide,
            "has_front": layout.carries != Carries.INFORMATION,
            "has_information": layout.carries != Carries.FRONT,
            **codes_of(label, layout),
        }
        html = render_to_string(template, context)
        self.key = (html, layout)
        self.html = HTML(string=html, url_fetcher=NOTHING_OUTSIDE)
        sheet = Path(str(finders.find("css/label.css"))).read_text(encoding="utf-8")
        self.style = CSS(string=sheet, url_fetcher=NOTHING_OUTSIDE)

    def laid_out(self, sizes: _Sizes) -> Any:
        text = _own_style(self.layout, sizes)
        if self.code_mm:
            text += f"#here-code {{ width: {self.code_mm}mm; height: {self.code_mm}mm }}"
        own = CSS(string=text, url_fetcher=NOTHING_OUTSIDE)
        return self.html.render(stylesheets=[self.style, own])


def _own_style(layout: Layout, sizes: _Sizes) -> str:
    body, net = _type_mm(sizes.letter_mm), _type_mm(sizes.net_mm)
    # 21 CFR 701.13(f): clear space of one letter above and below the net contents.
    below = max(Decimal(0), sizes.net_mm - layout.margin_mm)
    return (
        f"@page {{ size: {layout.width_mm}mm {layout.height_mm}mm; margin: {layout.margin_mm}mm }}"
        f"body {{ font-size: {body}mm }} #spacer {{ height: {sizes.spacer_mm:.3f}mm }}"
        f"#net {{ font-size: {net}mm; margin-top: {sizes.net_mm}mm; margin-bottom: {below}mm }}"
    )


def _type_mm(letter_mm: Decimal) -> Decimal:
    """The size of type whose small letters are so high, rounded up."""
    return (letter_mm / SMALL_LETTER).quantize(Decimal("0.001"), ROUND_CEILING)


def _least_net_mm(label: Label, layout: Layout) -> Decimal:
    """The least height of a small letter in the net contents, by the main panel's area."""
    if layout.carries == Carries.INFORMATION:
        return Decimal(0)
    if label.market == "US":
        return smallest_type_us(label.design.panel_sq_in or layout.area_sq_in).mm
    return smallest_type_eu_mm(label.product.fill_g) / FIGURE * SMALL_LETTER


def _does_not_fit(document: Any, layout: Layout) -> list[str]:
    """The parts that went over to a further page or stand out to the right."""
    right = (layout.width_mm - layout.margin_mm + HAIR_MM) * PX_PER_MM
    first, *further = document.pages
    wide = {key for key, box in first.anchors.items() if box[2] > right}
    over = {key for page in further for key in page.anchors}
    return [words for key, words in PARTS.items() if key in wide | over]


def _with_foot_down(page: _Page, document: Any, sizes: _Sizes) -> _Sizes:
    """Move the foot of the label down to its edge, if it can be."""
    layout = page.layout
    anchors = document.pages[0].anchors
    moving = ["net"] if layout.is_wide and "net" in anchors else list(anchors)
    bottom = max(Decimal(anchors[key][3]) for key in moving) / PX_PER_MM
    below = max(Decimal(0), sizes.net_mm - layout.margin_mm)
    # Beside the information nothing but the spacer parts the net contents from the front, and
    # once it has a height their margins no longer fall together.
    parting = _type_mm(sizes.letter_mm) * PARAGRAPH if layout.is_wide else HAIR_MM
    free = layout.height_mm - layout.margin_mm - below - bottom - max(parting, HAIR_MM)
    moved = replace(sizes, spacer_mm=free)
    if free > 0 and not _does_not_fit(page.laid_out(moved), layout):
        return moved
    return sizes


def _placed_wrongly(label: Label, layout: Layout, document: Any) -> list[str]:
    anchors = document.pages[0].anchors
    if label.market == "EU" or "net" not in anchors:
        return []
    top = layout.height_mm - Decimal(anchors["net"][1]) / PX_PER_MM
    if stands_low_enough(layout.area_sq_in, layout.height_mm, top):
        return []
    return ["The net contents do not stand in the lowest 30 % of the label, as 21 CFR 701.13 asks."]


def _spoken(words: list[str]) -> str:
    *most, last = words or ["all of it"]
    return f"{', '.join(most)} and {last}" if most else last
