"""One label put on paper many times: on sheets, or one after the other for a label printer."""

import io
from collections.abc import Iterator
from decimal import Decimal

import pikepdf

from workshop.core.errors import Refused
from workshop.labels.layouts import Grid, Layout

PT_PER_MM = Decimal(72) / Decimal("25.4")
MOST_LABELS = 10_000


def put_on_paper(label_pdf: bytes, layout: Layout, count: int, *, first_cell: int = 1) -> bytes:
    """A PDF of `count` copies of a one-page label; on a sheet the first stands in `first_cell`.

    Cells are counted from the upper left, row by row. Raises Refused for too many labels or a
    cell that the sheet does not have.
    """
    if not 1 <= count <= MOST_LABELS:
        raise Refused(f"Print from 1 to {MOST_LABELS} labels at a time.", field="count")
    grid = layout.grid
    if grid is None:
        return _one_by_one(label_pdf, count)
    if not 1 <= first_cell <= grid.cells:
        raise Refused(
            f"This sheet has cells 1 to {grid.cells}; there is no cell {first_cell}.",
            field="first_cell",
        )
    return _on_sheets(label_pdf, layout, grid, range(first_cell - 1, first_cell - 1 + count))


def _one_by_one(label_pdf: bytes, count: int) -> bytes:
    with pikepdf.open(io.BytesIO(label_pdf)) as pdf:
        pdf.pages.extend([pdf.pages[0]] * (count - 1))
        return _saved(pdf)


def _on_sheets(label_pdf: bytes, layout: Layout, grid: Grid, cells: range) -> bytes:
    """The label is kept in the file once, as a form that every cell draws."""
    with pikepdf.open(io.BytesIO(label_pdf)) as one, pikepdf.new() as pdf:
        form = pdf.copy_foreign(one.pages[0].as_form_xobject())
        size = (float(grid.page_width_mm * PT_PER_MM), float(grid.page_height_mm * PT_PER_MM))
        known: dict[str, pikepdf.Object] = {}
        for first in range(0, cells.stop, grid.cells):
            here = range(max(first, cells.start), min(first + grid.cells, cells.stop))
            page = pdf.add_blank_page(page_size=size)
            page.obj.Resources = pikepdf.Dictionary(XObject=pikepdf.Dictionary(Label=form))
            drawn = "\n".join(_drawn_at(layout, grid, here))
            if drawn not in known:
                known[drawn] = pdf.make_stream(drawn.encode())
            page.obj.Contents = known[drawn]
        return _saved(pdf)


def _drawn_at(layout: Layout, grid: Grid, cells: range) -> Iterator[str]:
    """The drawing of each cell; PDF counts upwards from the lower left corner."""
    for cell in cells:
        row, column = divmod(cell % grid.cells, grid.columns)
        right = grid.left_mm + column * grid.step_right_mm
        down = grid.top_mm + row * grid.step_down_mm + layout.height_mm
        x, y = right * PT_PER_MM, (grid.page_height_mm - down) * PT_PER_MM
        yield f"q 1 0 0 1 {x:.4f} {y:.4f} cm /Label Do Q"


def _saved(pdf: pikepdf.Pdf) -> bytes:
    written = io.BytesIO()
    pdf.save(written, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    return written.getvalue()
