"""Sizes that labels are printed on: single ones for a label printer, and sheets."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from workshop.rules.net_contents import rectangle_panel_sq_in

D = Decimal
MARGIN_MM = D(2)


@dataclass(frozen=True)
class Grid:
    """Where the labels of a sheet lie, from its upper left corner, in millimetres."""

    page_width_mm: Decimal
    page_height_mm: Decimal
    columns: int
    rows: int
    left_mm: Decimal
    top_mm: Decimal
    step_right_mm: Decimal
    step_down_mm: Decimal

    @property
    def cells(self) -> int:
        return self.columns * self.rows


@dataclass(frozen=True)
class Layout:
    """One size of label; with a grid it is printed on sheets, without one by one."""

    key: str
    name: str
    width_mm: Decimal
    height_mm: Decimal
    margin_mm: Decimal = MARGIN_MM
    grid: Grid | None = None

    @property
    def size(self) -> str:
        return f"{self.width_mm} × {self.height_mm} mm"

    @property
    def area_sq_in(self) -> Fraction:
        return rectangle_panel_sq_in(self.height_mm, self.width_mm)

    @property
    def inner_width_mm(self) -> Decimal:
        return self.width_mm - 2 * self.margin_mm


def _a4(key: str, columns: int, rows: int, width: int, height: int, margin: int) -> Layout:
    """Labels without gaps, in the middle of the sheet."""
    left, top = D(210 - columns * width) / 2, D(297 - rows * height) / 2
    grid = Grid(D(210), D(297), columns, rows, left, top, D(width), D(height))
    name = f"A4 sheet, {columns} × {rows} of {width} × {height} mm"
    return Layout(key, name, D(width), D(height), D(margin), grid)


def _letter(
    key: str, columns: int, rows: int, left: str, step_right: str, width: str, height: str
) -> Layout:
    """Labels with gaps between the columns, half an inch from the top."""
    grid = Grid(D("215.9"), D("279.4"), columns, rows, D(left), D("12.7"), D(step_right), D(height))
    name = f"Letter sheet, {columns} × {rows} of {width} × {height} mm"
    return Layout(key, name, D(width), D(height), MARGIN_MM, grid)


def _single(width: int, height: int) -> Layout:
    name = f"Single {width} × {height} mm"
    return Layout(f"{width}x{height}", name, D(width), D(height))


ALL = (
    _single(70, 37),
    _single(100, 50),
    _single(100, 70),
    _single(100, 100),
    _a4("a4-24", 3, 8, 70, 37, margin=3),
    _a4("a4-8", 2, 4, 105, 74, margin=4),
    _a4("a4-6", 2, 3, 105, 99, margin=4),
    _letter("letter-30", 3, 10, "4.76", "69.85", "66.7", "25.4"),
    _letter("letter-10", 2, 5, "4", "106.3", "101.6", "50.8"),
    _letter("letter-6", 2, 3, "4", "106.3", "101.6", "84.6"),
)
BY_KEY = {layout.key: layout for layout in ALL}
DEFAULT = ALL[0]
