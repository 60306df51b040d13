"""Labels that differ: each with its number, and with a code that carries it."""

from collections.abc import Sequence
from decimal import Decimal
from functools import cache
from typing import Any

from django.template.loader import render_to_string
from weasyprint import CSS, HTML

from workshop.core.paper.barcodes import gs1_datamatrix_rows
from workshop.core.paper.css_layout import NOTHING_OUTSIDE, fonts
from workshop.labels.content.label import Label
from workshop.labels.layout.barcode_data import numbered_elements
from workshop.labels.layout.fit_to_label import draw
from workshop.labels.layout.label_stock import Layout
from workshop.labels.layout.label_style import style_sheet
from workshop.labels.printing.sheet_imposition import (
    CodeMarks,
    Marks,
    NumberMarks,
    Place,
    put_numbered_on_paper,
)

MM_PER_PX = Decimal("25.4") / 96
# Width and line height of a figure of the label typeface in parts of its size.
FIGURE_WIDTH = Decimal("0.497")
LINE = Decimal("1.17")


def laid_out(template: str, context: dict[str, Any], own: str, sheet: str = "label") -> Any:
    """A page of paper with one of our style sheets and its own sizes."""
    styles = [style_sheet(sheet), CSS(string=own, url_fetcher=NOTHING_OUTSIDE)]
    html = HTML(string=render_to_string(template, context), url_fetcher=NOTHING_OUTSIDE)
    return html.render(stylesheets=styles, font_config=fonts())


@cache
def figures(size_mm: Decimal) -> bytes:
    """The ten figures, one a page, as wide as they stand side by side."""
    width, height = size_mm * FIGURE_WIDTH, size_mm * LINE
    own = (
        f"@page {{ size: {width}mm {height}mm; margin: 0 }}"
        f"body {{ font-size: {size_mm}mm; line-height: {LINE} }} p {{ margin: 0 }}"
        "p + p { break-before: page }"
    )
    document = laid_out("labels/paper_figures.html", {"figures": "0123456789"}, own)
    written: bytes = document.write_pdf()
    return written


NOWHERE = Place(Decimal(0), Decimal(0))


def place_of(document: Any, key: str, shift: Place = NOWHERE) -> Place:
    """Where an empty place of a laid-out label begins, which is itself shifted on its paper."""
    x, y = document.pages[0].anchors[key][:2]
    return Place(Decimal(x) * MM_PER_PX + shift.x_mm, Decimal(y) * MM_PER_PX + shift.y_mm)


def number_marks(
    document: Any, key: str, numbers: Sequence[str], size_mm: Decimal, shift: Place = NOWHERE
) -> NumberMarks:
    """The numbers that fill a place: a form stands on its lower edge."""
    at = place_of(document, key, shift)
    return NumberMarks(Place(at.x_mm, at.y_mm + size_mm * LINE), numbers)


def code_marks(
    document: Any,
    key: str,
    codes: Sequence[list[bytes]],
    module_mm: Decimal,
    shift: Place = NOWHERE,
) -> CodeMarks:
    """The square codes that fill a place."""
    return CodeMarks(place_of(document, key, shift), module_mm, module_mm, codes)


def numbered_pdf(
    label: Label,
    layout: Layout,
    numbers: Sequence[int],
    *,
    first_cell: int = 1,
    spoiled_cells: frozenset[int] = frozenset(),
) -> bytes:
    """Labels that each carry their number, as figures and as the serial in their code."""
    drawn = draw(label, layout, numbered=True)
    document, size_mm, frame = drawn.document, drawn.type_mm, drawn.frame
    shift = Place(frame.left_mm, frame.top_mm)
    codes = [gs1_datamatrix_rows(numbered_elements(label, number)) for number in numbers]
    marks = Marks(
        [
            number_marks(
                document, "here-number", [str(number) for number in numbers], size_mm, shift
            )
        ],
        [code_marks(document, "here-code", codes, layout.module_mm, shift)],
        figures(size_mm),
        size_mm * FIGURE_WIDTH,
    )
    return put_numbered_on_paper(
        drawn.pdf, layout, marks, first_cell=first_cell, spoiled_cells=spoiled_cells
    )
