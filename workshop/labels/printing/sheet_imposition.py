"""One label put on paper many times: on sheets, or one after the other for a label printer."""

import io
import itertools
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

import pikepdf

from workshop.core.errors import ActionRefused
from workshop.labels.layout.label_stock import Grid, Layout

PT_PER_MM = Decimal(72) / Decimal("25.4")
MOST_LABELS = 10_000


def put_on_paper(
    label_pdf: bytes,
    layout: Layout,
    count: int,
    *,
    first_cell: int = 1,
    spoiled_cells: frozenset[int] = frozenset(),
) -> bytes:
    """A PDF of `count` copies of a one-page label; on a sheet the first stands in `first_cell`.

    Cells are counted from the upper left, row by row. `spoiled_cells` of the first sheet are left
    empty. Raises ActionRefused for too many labels or a cell that the sheet does not have.
    """
    if not 1 <= count <= MOST_LABELS:
        raise ActionRefused(f"Print from 1 to {MOST_LABELS} labels at a time.", field="count")
    grid = layout.grid
    if grid is None:
        return _one_by_one(label_pdf, count)
    cells = _free_cells(grid, count, first_cell, spoiled_cells)
    return _on_sheets(label_pdf, layout, grid, cells)


def _free_cells(
    grid: Grid, count: int, first_cell: int, spoiled_cells: frozenset[int]
) -> list[int]:
    """Where so many labels go, counted from 0 on over all sheets."""
    _validate_cells(grid, first_cell, spoiled_cells)
    free = (cell for cell in itertools.count(first_cell - 1) if cell + 1 not in spoiled_cells)
    return list(itertools.islice(free, count))


def _validate_cells(grid: Grid, first_cell: int, spoiled_cells: frozenset[int]) -> None:
    for cell, field in ((first_cell, "first_cell"), *((c, "spoiled") for c in spoiled_cells)):
        if not 1 <= cell <= grid.cells:
            raise ActionRefused(
                f"This sheet has cells 1 to {grid.cells}; there is no cell {cell}.", field=field
            )


def _one_by_one(label_pdf: bytes, count: int) -> bytes:
    with pikepdf.open(io.BytesIO(label_pdf)) as pdf:
        pdf.pages.extend([pdf.pages[0]] * (count - 1))
        return _saved(pdf)


def _on_sheets(label_pdf: bytes, layout: Layout, grid: Grid, cells: Sequence[int]) -> bytes:
    """The label is kept in the file once, as a form that every cell draws."""
    with pikepdf.open(io.BytesIO(label_pdf)) as one, pikepdf.new() as pdf:
        form = pdf.copy_foreign(one.pages[0].as_form_xobject())
        size = (float(grid.page_width_mm * PT_PER_MM), float(grid.page_height_mm * PT_PER_MM))
        known: dict[str, pikepdf.Object] = {}
        for _, on_page in itertools.groupby(cells, key=lambda cell: cell // grid.cells):
            here = list(on_page)
            page = pdf.add_blank_page(page_size=size)
            page.obj.Resources = pikepdf.Dictionary(XObject=pikepdf.Dictionary(Label=form))
            drawn = "\n".join(_drawn_at(layout, grid, here))
            if drawn not in known:
                known[drawn] = pdf.make_stream(drawn.encode())
            page.obj.Contents = known[drawn]
        return _saved(pdf)


def _drawn_at(layout: Layout, grid: Grid, cells: Sequence[int]) -> Iterator[str]:
    """The drawing of each cell; PDF counts upwards from the lower left corner."""
    for cell in cells:
        row, column = divmod(cell % grid.cells, grid.columns)
        right = grid.left_mm + column * grid.step_right_mm
        down = grid.top_mm + row * grid.step_down_mm + layout.height_mm
        x, y = right * PT_PER_MM, (grid.page_height_mm - down) * PT_PER_MM
        yield f"q 1 0 0 1 {x:.4f} {y:.4f} cm /Label Do Q"


@dataclass(frozen=True)
class Place:
    """Where something stands on a label, from its upper left corner, in millimetres."""

    x_mm: Decimal
    y_mm: Decimal


@dataclass(frozen=True)
class CodeMarks:
    """A code of each label as its dark modules, row by row; a linear one has a single row."""

    at: Place
    module_mm: Decimal
    row_mm: Decimal
    codes: Sequence[list[bytes]]


@dataclass(frozen=True)
class NumberMarks:
    """A number of each label in figures, on their line."""

    at: Place
    numbers: Sequence[str]


@dataclass(frozen=True)
class Marks:
    """What differs from label to label: numbers in figures, and codes.

    `figures` is a PDF with one page for each of the ten figures, `figure_mm` their width.
    """

    numbers: Sequence[NumberMarks]
    codes: Sequence[CodeMarks]
    figures: bytes
    figure_mm: Decimal

    @property
    def count(self) -> int:
        return len(self.numbers[0].numbers)


def put_numbered_on_paper(
    label_pdf: bytes,
    layout: Layout,
    marks: Marks,
    *,
    first_cell: int = 1,
    spoiled_cells: frozenset[int] = frozenset(),
) -> bytes:
    """A PDF of one label many times, each with its own code and number drawn in its places.

    The label is laid out and kept in the file once; only the marks are drawn for each.
    """
    grid = layout.on_page
    cells = _free_cells(grid, marks.count, first_cell, spoiled_cells)
    with (
        pikepdf.open(io.BytesIO(label_pdf)) as one,
        pikepdf.open(io.BytesIO(marks.figures)) as figures,
        pikepdf.new() as pdf,
    ):
        forms = {"/Label": pdf.copy_foreign(one.pages[0].as_form_xobject())}
        for figure, page in enumerate(figures.pages):
            forms[f"/F{figure}"] = pdf.copy_foreign(page.as_form_xobject())
        resources = pdf.make_indirect(pikepdf.Dictionary(XObject=pikepdf.Dictionary(forms)))
        size = (float(grid.page_width_mm * PT_PER_MM), float(grid.page_height_mm * PT_PER_MM))
        marked = _marked(marks, layout)
        for _, on_page in itertools.groupby(cells, key=lambda cell: cell // grid.cells):
            page = pdf.add_blank_page(page_size=size)
            page.obj.Resources = resources
            labels = _drawn_at(layout, grid, list(on_page))
            drawn = "\n".join(f"{label[:-1]}{next(marked)} Q" for label in labels)
            # Packed at once, or the drawings of many sheets fill the memory until all is saved.
            packed = zlib.compress(drawn.encode(), 6)
            page.obj.Contents = pdf.make_stream(packed, Filter=pikepdf.Name.FlateDecode)
        return _saved(pdf)


def _marked(marks: Marks, layout: Layout) -> Iterator[str]:
    """Each label's codes as runs of black modules, and its numbers figure by figure."""
    known: list[dict[tuple[int, bytes], str]] = [{} for _ in marks.codes]
    begun = [_code_begun(code, layout) for code in marks.codes]
    first = [_number_begun(number, layout) for number in marks.numbers]
    following = f"\n1 0 0 1 {_pt(marks.figure_mm):.3f} 0 cm\n"
    for which in range(marks.count):
        codes = [
            f"{start}{_code(code.codes[which], seen)}f Q\n"
            for start, code, seen in zip(begun, marks.codes, known, strict=True)
        ]
        numbers = [
            start + following.join(f" /F{figure} Do" for figure in number.numbers[which]) + " Q"
            for start, number in zip(first, marks.numbers, strict=True)
        ]
        yield "".join(codes) + "\n".join(numbers)


def _code_begun(code: CodeMarks, layout: Layout) -> str:
    """One unit a module and downwards from here: runs are then told in whole, small numbers."""
    x, y = _pt(code.at.x_mm), _pt(layout.height_mm - code.at.y_mm)
    return f"q {_pt(code.module_mm):.4f} 0 0 {-_pt(code.row_mm):.4f} {x:.3f} {y:.3f} cm\n"


def _number_begun(number: NumberMarks, layout: Layout) -> str:
    x, y = _pt(number.at.x_mm), _pt(layout.height_mm - number.at.y_mm)
    return f"q 1 0 0 1 {x:.3f} {y:.3f} cm"


def _code(rows: list[bytes], known: dict[tuple[int, bytes], str]) -> str:
    """A code's rows; most of them are those of the code before, so they are kept in `known`."""
    drawn = []
    for place in enumerate(rows):
        if place not in known:
            row, modules = place
            known[place] = "".join(f"{x} {row} {run} 1 re\n" for x, run in black_runs(modules))
        drawn.append(known[place])
    return "".join(drawn)


def black_runs(modules: bytes) -> Iterator[tuple[int, int]]:
    """Where each run of black modules begins, and how long it is."""
    start = modules.find(0)
    while start >= 0:
        end = next((i for i in range(start, len(modules)) if modules[i]), len(modules))
        yield start, end - start
        start = modules.find(0, end)


def _pt(mm: Decimal) -> float:
    return float(mm * PT_PER_MM)


def _saved(pdf: pikepdf.Pdf) -> bytes:
    written = io.BytesIO()
    pdf.save(written, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    return written.getvalue()
