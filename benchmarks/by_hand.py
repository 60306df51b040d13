"""The same numbered labels drawn piece by piece with a low-level PDF library, to measure against.

It draws what ours does: each line of text where it stands, the bars of the GTIN, the squares of
the label's own code, its number, and the outline of the label. It may write its text in a font
that every reader has, and so needs to put none into the file.
"""

import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import zxingcpp
from reportlab.pdfgen.canvas import Canvas

from workshop.core.paper.barcodes import gs1_datamatrix_rows
from workshop.labels.content.label import Label
from workshop.labels.layout.barcode_data import numbered_elements
from workshop.labels.layout.fit_to_label import draw, text_boxes
from workshop.labels.layout.label_stock import Grid, Layout
from workshop.labels.printing.sheet_imposition import black_runs

PT_PER_MM = 72 / 25.4
PT_PER_PX = 0.75
ASCENT = 0.93  # of DejaVu Sans, in parts of its size
Rectangle = tuple[float, float, float, float]


@dataclass(frozen=True)
class Line:
    """One line of text: where its base stands on the label, from the lower left, in points."""

    x: float
    y: float
    size: float
    text: str


@dataclass(frozen=True)
class Fixed:
    """What all labels share: their lines and bars, and where the marks of each go."""

    lines: list[Line]
    bars: list[Rectangle]
    code_at: tuple[float, float]
    number_at: Line
    module: float


def by_hand(
    label: Label,
    layout: Layout,
    fixed: Fixed,
    numbers: Sequence[int],
    *,
    keeps_fixed: bool = False,
) -> bytes:
    """The labels on their sheets; `keeps_fixed` keeps in the file once what all of them share."""
    grid = layout.on_page
    written = io.BytesIO()
    size = (float(grid.page_width_mm) * PT_PER_MM, float(grid.page_height_mm) * PT_PER_MM)
    canvas = Canvas(written, pagesize=size, pageCompression=1)
    if keeps_fixed:
        canvas.beginForm("label")
        _draw_fixed(canvas, layout, fixed)
        canvas.endForm()
    for place, number in enumerate(numbers):
        cell = place % grid.cells
        if place and cell == 0:
            canvas.showPage()
        canvas.saveState()
        canvas.translate(*_corner(layout, grid, cell))
        if keeps_fixed:
            canvas.doForm("label")
        else:
            _draw_fixed(canvas, layout, fixed)
        _draw_marks(canvas, fixed, gs1_datamatrix_rows(numbered_elements(label, number)), number)
        canvas.restoreState()
    canvas.save()
    return written.getvalue()


def fixed_part(label: Label, layout: Layout) -> Fixed:
    """Every line where our own layout has it, so that both draw the same."""
    drawn = draw(label, layout, numbered=True)
    page = drawn.document.pages[0]
    high = float(layout.height_mm) * PT_PER_MM
    lines = [
        Line(box.position_x * PT_PER_PX, high - (box.position_y + ASCENT * box.style["font_size"])
             * PT_PER_PX, box.style["font_size"] * PT_PER_PX, box.text)
        for box in text_boxes(page)
    ]  # fmt: skip
    code, number, till = (page.anchors[key] for key in ("here-code", "here-number", "gtin"))
    size = float(drawn.type_mm) * PT_PER_MM
    return Fixed(
        lines=lines,
        bars=list(_bars(label.gtin, till[0] * PT_PER_PX, high - till[1] * PT_PER_PX, layout)),
        code_at=(code[0] * PT_PER_PX, high - code[1] * PT_PER_PX),
        number_at=Line(number[0] * PT_PER_PX, high - number[3] * PT_PER_PX, size, ""),
        module=float(layout.module_mm) * PT_PER_MM,
    )


def _bars(gtin: str, x: float, top: float, layout: Layout) -> Iterable[Rectangle]:
    code: Any = zxingcpp.create_barcode(gtin, zxingcpp.BarcodeFormat.EAN13)
    row = bytes(memoryview(code.to_image(scale=1, add_quiet_zones=True))[0:1])
    bar, high = float(layout.bar_mm) * PT_PER_MM, 9 * PT_PER_MM
    return ((x + start * bar, top - high, run * bar, high) for start, run in black_runs(row))


def _corner(layout: Layout, grid: Grid, cell: int) -> tuple[float, float]:
    row, column = divmod(cell, grid.columns)
    right = grid.left_mm + column * grid.step_right_mm
    down = grid.top_mm + row * grid.step_down_mm + layout.height_mm
    return float(right) * PT_PER_MM, float(grid.page_height_mm - down) * PT_PER_MM


def _draw_fixed(canvas: Any, layout: Layout, fixed: Fixed) -> None:
    canvas.rect(
        0, 0, float(layout.width_mm) * PT_PER_MM, float(layout.height_mm) * PT_PER_MM, stroke=1
    )
    for line in fixed.lines:
        canvas.setFont("Helvetica", line.size)
        canvas.drawString(line.x, line.y, line.text)
    _draw_rectangles(canvas, fixed.bars)


def _draw_marks(canvas: Any, fixed: Fixed, code: list[bytes], number: int) -> None:
    x, y = fixed.code_at
    side = fixed.module
    squares = [
        (x + start * side, y - (row + 1) * side, run * side, side)
        for row, modules in enumerate(code)
        for start, run in black_runs(modules)
    ]
    _draw_rectangles(canvas, squares)
    at = fixed.number_at
    canvas.setFont("Helvetica", at.size)
    canvas.drawString(at.x, at.y, str(number))


def _draw_rectangles(canvas: Any, rectangles: Iterable[Rectangle]) -> None:
    path = canvas.beginPath()
    for rectangle in rectangles:
        path.rect(*rectangle)
    canvas.drawPath(path, stroke=0, fill=1)
