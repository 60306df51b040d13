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


def _a4(columns: int, rows: int, width: str, height: str) -> Grid:
    """A grid without gaps in the middle of an A4 sheet."""
    wide, high = D(width), D(height)
    left, top = (D(210) - columns * wide) / 2, (D(297) - rows * high) / 2
    return Grid(D(210), D(297), columns, rows, left, top, wide, high)


LETTER_THIRTY = Grid(
    D("215.9"), D("279.4"), 3, 10, D("4.7625"), D("12.7"), D("69.85"), D("25.4")
)  # fmt: skip
LETTER_TEN = Grid(D("215.9"), D("279.4"), 2, 5, D("4"), D("12.7"), D("106.3"), D("50.8"))

ALL = (
    Layout("70x37", "Single 70 × 37 mm", D(70), D(37)),
    Layout("100x50", "Single 100 × 50 mm", D(100), D(50)),
    Layout("100x70", "Single 100 × 70 mm", D(100), D(70)),
    Layout("a4-24", "A4 sheet, 3 × 8 of 70 × 37 mm", D(70), D(37), D(3), _a4(3, 8, "70", "37")),
    Layout("a4-8", "A4 sheet, 2 × 4 of 105 × 74 mm", D(105), D(74), D(5), _a4(2, 4, "105", "74")),
    Layout(
        "letter-30",
        "Letter sheet, 3 × 10 of 66.7 × 25.4 mm",
        D("66.675"),
        D("25.4"),
        grid=LETTER_THIRTY,
    ),
    Layout(
        "letter-10",
        "Letter sheet, 2 × 5 of 101.6 × 50.8 mm",
        D("101.6"),
        D("50.8"),
        grid=LETTER_TEN,
    ),
)
BY_KEY = {layout.key: layout for layout in ALL}
DEFAULT = ALL[0]
