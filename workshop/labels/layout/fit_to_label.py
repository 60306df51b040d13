"""A label laid out once, at the largest type that fits; nothing is ever cut off."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Any

from weasyprint.formatting_structure.boxes import TextBox

from workshop.core.errors import ActionRefused
from workshop.core.formatting import number
from workshop.labels.art.chosen_art import dress_of
from workshop.labels.art.drawing import Dress, composed
from workshop.labels.art.frame import Frame, bare, frames
from workshop.labels.art.print_check import art_notes
from workshop.labels.content.label import Label
from workshop.labels.layout.fit_estimate import part_filled
from workshop.labels.layout.label_stock import Layout
from workshop.labels.layout.least_type import MM_PER_INCH, least_letter_mm
from workshop.labels.layout.page_markup import STICKER, Page
from workshop.labels.layout.text_blocks import Sizes, type_mm
from workshop.labels.models import Art
from workshop.rules.labels.net_contents import stands_low_enough

PX_PER_MM = Decimal(96) / MM_PER_INCH
# Heights of a letter that are tried above the least that is allowed.
TRIED_MM = tuple(map(Decimal, ("0.9", "1.0", "1.15", "1.3", "1.45", "1.7", "1.85", "2.1", "2.4")))
# So many steps of type may be given up for art.
STEPS_FOR_ART = 2
HAIR_MM = Decimal("0.1")
# A guess this far off a full label is taken for certain.
SURELY, SURELY_NOT = 0.85, 1.25

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
FRONT = ("name", "identity", "organic", "claims")
INFORMATION = ("list", "directions", "cautions", "maker")
CODES = ("lot", "code", "gtin")


@dataclass(frozen=True)
class Drawn:
    """One label laid out on its exact size; letters are measured by a small o."""

    document: Any
    layout: Layout
    letter_mm: Decimal
    least_mm: Decimal
    warnings: tuple[str, ...]
    frame: Frame
    dress: Dress | None = None

    @property
    def art_notes(self) -> tuple[str, ...]:
        """What is to be known of its artwork on this size."""
        return art_notes(self.frame, self.dress) if self.dress else ()

    @property
    def type_mm(self) -> Decimal:
        """The size of type that stands for the letters."""
        return type_mm(self.letter_mm)

    @cached_property
    def pdf(self) -> bytes:
        return composed(self.words, self.frame, self.dress) if self.dress else self.words

    @cached_property
    def words(self) -> bytes:
        """The words and codes alone, on the part of the label that is theirs."""
        written: bytes = self.document.write_pdf()
        return written


def draw(
    label: Label,
    layout: Layout,
    *,
    preview: bool = False,
    numbered: bool = False,
    art: Art | None = None,
) -> Drawn:
    """Lay a label out at the largest type that fits, its net contents lowest.

    A `numbered` one leaves room for a number and a code of its own on each label. `art` is one
    that is only being chosen; otherwise it is that of the product.

    Raises ActionRefused, naming what does not fit, when even the least legal type is too large.
    """
    dress = dress_of(label.product, art)
    whole = Page(label, layout, preview=preview, numbered=numbered)
    for frame in () if dress.is_plain else frames(layout):
        page = Page(label, frame.inner, preview=preview, numbered=numbered, panel=frame.outer)
        if frame.kind != "bare" and _costs_too_much(page, whole):
            continue
        try:
            drawn = _drawn(page, frame, dress)
        except ActionRefused:
            if frame.kind == "bare":
                raise
            continue
        # Art that pushes the net contents out of their place gives way too.
        if frame.kind == "bare" or not drawn.warnings:
            return drawn
    return _drawn(whole, bare(layout))


def _costs_too_much(page: Page, whole: Page) -> bool:
    """Whether art would cost the words more than some steps of their size, or all their room."""
    sizes, most = _tried(page), _tried(whole)
    if part_filled(page, sizes[0]) > 1:
        return True
    return _guessed(page, sizes) < _guessed(whole, most) - STEPS_FOR_ART


def draw_sticker(label: Label, layout: Layout, *, preview: bool = False) -> Drawn:
    """The sticker "new ingredient list" of 21 CFR 701.3(n), for a label that is otherwise true."""
    page = Page(label, layout, preview=preview, template=STICKER)
    return _drawn(page, bare(layout))


def fits(label: Label, layout: Layout) -> bool:
    """Whether the label has room at the least type; only a close guess is laid out to be sure."""
    page = Page(label, layout)
    sizes = _tried(page)[0]
    part = part_filled(page, sizes)
    if part < SURELY or part > SURELY_NOT:
        return part < SURELY
    return not _does_not_fit(page, page.laid_out(sizes), sizes)


# The sizes found for a label's markup on a layout: seen once, it is laid out at once again.
_FOUND: dict[tuple[str, Layout], Sizes] = {}
MOST_FOUND = 500


def _drawn(page: Page, frame: Frame, dress: Dress | None = None) -> Drawn:
    key = (page.html, page.layout)
    sizes = _FOUND.get(key)
    document = page.laid_out(sizes) if sizes else None
    if sizes is None or document is None:
        document, sizes = _largest_that_fits(page, _tried(page))
        if len(_FOUND) >= MOST_FOUND:
            _FOUND.clear()
        _FOUND[key] = sizes
    warnings = tuple(_placed_wrongly(page, document, frame))
    return Drawn(document, frame.outer, sizes.letter_mm, _least(page), warnings, frame, dress)


def _least(page: Page) -> Decimal:
    return MM_PER_INCH / 16 if page.is_sticker else least_letter_mm(page.label)


def _tried(page: Page) -> list[Sizes]:
    """The sizes to try, the least legal one first."""
    least = _least(page)
    letters = [least, *(mm for mm in TRIED_MM if mm > least)]
    return [Sizes(letter, max(letter, page.least_net_mm)) for letter in letters]


def _largest_that_fits(page: Page, tried: list[Sizes]) -> tuple[Any, Sizes]:
    """The laid-out label at the size that a guess names, or the next that fits by trial."""
    at = _guessed(page, tried)
    document = page.laid_out(tried[at])
    missing = _does_not_fit(page, document, tried[at])
    while missing and at:
        at -= 1
        document = page.laid_out(tried[at])
        missing = _does_not_fit(page, document, tried[at])
    if missing:
        raise ActionRefused(
            f"On {page.panel.size} there is no room for {_spoken(missing)}, with letters "
            f"{number(_least(page), most=1)} mm high, the least that is allowed. Choose a larger "
            "label.",
            field="layout",
        )
    return document, tried[at]


def _guessed(page: Page, tried: list[Sizes]) -> int:
    fitting = [at for at, sizes in enumerate(tried) if part_filled(page, sizes) <= 1]
    return max(fitting, default=0)


def _does_not_fit(page: Page, document: Any, sizes: Sizes) -> list[str]:
    """The parts that went over to a further page, or stand out of their room."""
    first, *further = document.pages
    over = {key for below in further for key in below.anchors}
    # What stands apart from the flow goes over to no further page: it would be gone.
    if not page.is_sticker:
        over |= page.pictures.keys() - first.anchors.keys()
    out = over | _too_wide(page, first) | _too_low(page, first, sizes)
    if page.circle and not out:
        out = {"name"} if _is_out_of_circle(page, first) else set()
    return [words for key, words in PARTS.items() if key in out]


def _too_wide(page: Page, paper: Any) -> set[str]:
    layout = page.layout
    margin = Decimal(0) if page.circle else layout.margin_mm
    right = float((layout.width_mm - margin + HAIR_MM) * PX_PER_MM)
    wide = {key for key, box in paper.anchors.items() if box[2] > right}
    over = [box.position_y for box in text_boxes(paper) if box.position_x + box.width > right]
    # Words that must not be broken stand out of their part, whose own box tells nothing of it.
    return wide | {
        key
        for key, (_, top, _, bottom) in paper.anchors.items()
        if any(top - 1 <= y < bottom for y in over)
    }


def _too_low(page: Page, paper: Any, sizes: Sizes) -> set[str]:
    """What reaches into the foot, which stands on the lower edge whatever is above it."""
    anchors = paper.anchors
    if "foot" not in anchors:
        return set()
    top = Decimal(anchors["foot"][1]) / PX_PER_MM
    margin = Decimal(0) if page.circle else page.layout.margin_mm
    if top < margin - HAIR_MM:
        return set(anchors)
    # The margin of the net contents stands inside the foot; codes ask for none.
    clear = sizes.net_mm if page.circle else Decimal(0)
    if page.is_band:
        return _reaching(anchors, INFORMATION + CODES, top)
    above = FRONT if page.is_wide else FRONT + INFORMATION
    low = _reaching(anchors, above, top - clear)
    if page.is_wide or "net" not in anchors:
        return low
    return low | _reaching(anchors, CODES, Decimal(anchors["net"][1]) / PX_PER_MM)


def _reaching(anchors: dict[str, Any], keys: tuple[str, ...], limit_mm: Decimal) -> set[str]:
    """Those of these parts that reach below a height."""
    ends = {key: Decimal(anchors[key][3]) / PX_PER_MM for key in keys if key in anchors}
    return {key for key, end in ends.items() if end > limit_mm + HAIR_MM}


def _is_out_of_circle(page: Page, paper: Any) -> bool:
    circle, scale = page.circle, float(PX_PER_MM)
    return circle is not None and not all(
        circle.holds(
            box.position_x / scale, box.position_y / scale, box.width / scale, box.height / scale
        )
        for box in text_boxes(paper)
    )


def text_boxes(paper: Any) -> Iterator[Any]:
    """Each piece of text of a page, with its position and size in pixels of CSS."""
    boxes = paper._page_box.descendants()
    return (box for box in boxes if isinstance(box, TextBox) and box.text.strip())


def _placed_wrongly(page: Page, document: Any, frame: Frame) -> list[str]:
    label, layout, anchors = page.label, frame.outer, document.pages[0].anchors
    if not label.law.ounces_first or "net" not in anchors:
        return []
    top = layout.height_mm - frame.top_mm - Decimal(anchors["net"][1]) / PX_PER_MM
    panel = label.design.panel_sq_in or layout.area_sq_in
    if stands_low_enough(panel, layout.height_mm, top):
        return []
    return ["The net contents do not stand in the lowest 30 % of the label, as 21 CFR 701.13 asks."]


def _spoken(words: list[str]) -> str:
    *most, last = words or ["all of it"]
    return f"{', '.join(most)} and {last}" if most else last
