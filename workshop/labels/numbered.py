"""Labels that differ: each with its number, and with a code that carries it."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django.template.loader import render_to_string
from weasyprint import CSS, HTML

from workshop.core.barcodes import gs1_datamatrix_rows
from workshop.core.paper import NOTHING_OUTSIDE, fonts
from workshop.labels.codes import numbered_elements
from workshop.labels.content import Label
from workshop.labels.drawing import draw
from workshop.labels.layouts import Layout
from workshop.labels.page import label_sheet
from workshop.labels.sheets import Marks, Place, put_numbered_on_paper

MM_PER_PX = Decimal("25.4") / 96
# Width and line height of a figure of DejaVu Sans in parts of its size.
FIGURE_WIDTH = Decimal("0.637")
LINE = Decimal("1.17")


def laid_out(template: str, context: dict[str, Any], own: str) -> Any:
    """A page of paper with the label style sheet and its own sizes."""
    styles = [label_sheet(), CSS(string=own, url_fetcher=NOTHING_OUTSIDE)]
    html = HTML(string=render_to_string(template, context), url_fetcher=NOTHING_OUTSIDE)
    return html.render(stylesheets=styles, font_config=fonts())


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


def marks_of(
    document: Any,
    *,
    size_mm: Decimal,
    numbers: list[str],
    elements: list[str],
    module_mm: Decimal,
) -> Marks:
    """Fill the empty places "here-code" and "here-number" of a laid-out label."""
    anchors = document.pages[0].anchors
    code = anchors.get("here-code", (0, 0, 0, 0))
    number = anchors["here-number"]
    return Marks(
        code_at=Place(Decimal(code[0]) * MM_PER_PX, Decimal(code[1]) * MM_PER_PX),
        module_mm=module_mm,
        codes=[gs1_datamatrix_rows(text) for text in elements],
        # A form stands on its lower edge.
        number_at=Place(
            Decimal(number[0]) * MM_PER_PX,
            Decimal(number[1]) * MM_PER_PX + size_mm * LINE,
        ),
        numbers=numbers,
        figures=figures(size_mm),
        figure_mm=size_mm * FIGURE_WIDTH,
    )


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
    marks = marks_of(
        drawn.document,
        size_mm=drawn.type_mm,
        numbers=[str(number) for number in numbers],
        elements=[numbered_elements(label, number) for number in numbers],
        module_mm=layout.module_mm,
    )
    return put_numbered_on_paper(
        drawn.pdf, layout, marks, first_cell=first_cell, spoiled_cells=spoiled_cells
    )
