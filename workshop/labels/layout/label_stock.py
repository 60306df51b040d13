"""Sizes that labels are printed on: single ones for a label printer, and sheets."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from workshop.core.paper.barcodes import BAR_MM, MODULE_MM
from workshop.labels.models import Carries, OwnSize, Shape
from workshop.rules.labels.net_contents import lid_panel_sq_in, rectangle_panel_sq_in

D = Decimal
MARGIN_MM = D(2)
# The widest square in a circle leaves this part of the diameter on each side, rounded up.
ROUND_MARGIN = D("0.1465")
# From this width and ratio of width to height on, front and information stand side by side.
WIDE_MM, WIDE_RATIO = 120, 2
# From this ratio on a label of information alone has its codes beside its words, not below them.
BAND_RATIO = 4
# Whole dots for a bar and for a square module; 0.25 mm and less did not always read back.
DOTS = {203: (3, 3), 300: (4, 5)}
MM_PER_INCH = D("25.4")


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
    shape: str = Shape.RECTANGLE
    carries: str = Carries.ALL
    dpi: int | None = None

    @property
    def on_page(self) -> Grid:
        """Its grid, or of one printed by itself a page of one cell."""
        zero, wide, high = Decimal(0), self.width_mm, self.height_mm
        return self.grid or Grid(wide, high, 1, 1, zero, zero, wide, high)

    @property
    def size(self) -> str:
        if self.is_round:
            return f"{self.width_mm} mm across"
        return f"{self.width_mm} × {self.height_mm} mm"

    @property
    def is_round(self) -> bool:
        return self.shape == Shape.ROUND

    @property
    def is_wide(self) -> bool:
        """Whether the front stands beside the information instead of above it."""
        is_long = self.width_mm >= WIDE_MM and self.width_mm > WIDE_RATIO * self.height_mm
        return is_long and self.carries == Carries.ALL

    @property
    def is_band(self) -> bool:
        """Whether its codes stand beside the information instead of below it."""
        is_long = self.width_mm >= WIDE_MM and self.width_mm > BAND_RATIO * self.height_mm
        return is_long and self.carries == Carries.INFORMATION

    @property
    def area_sq_in(self) -> Fraction:
        if self.is_round:
            return lid_panel_sq_in(self.width_mm)
        return rectangle_panel_sq_in(self.height_mm, self.width_mm)

    @property
    def bar_mm(self) -> Decimal:
        """The narrowest bar: whole dots of the printer, or what reads back from any."""
        return self._dots(0) if self.dpi else BAR_MM

    @property
    def module_mm(self) -> Decimal:
        return self._dots(1) if self.dpi else MODULE_MM

    def _dots(self, which: int) -> Decimal:
        dpi = self.dpi or 300
        return DOTS[dpi][which] * MM_PER_INCH / dpi

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


def _lid(diameter: int) -> Layout:
    """A round tin lid; it has room for the front, a band carries the rest."""
    name = f"Round tin lid, {diameter} mm across (front only)"
    side = D(diameter)
    return Layout(
        f"lid-{diameter}", name, side, side, side * ROUND_MARGIN, None, Shape.ROUND, Carries.FRONT
    )


def _base(diameter: int) -> Layout:
    """A round tin base; it carries what its lid has no room for."""
    name = f"Round tin base, {diameter} mm across (information only)"
    side = D(diameter)
    return Layout(
        f"base-{diameter}", name, side, side, side * ROUND_MARGIN, None, Shape.ROUND,
        Carries.INFORMATION,
    )  # fmt: skip


def _named(key: str, name: str, width: int, height: int, carries: str = Carries.ALL) -> Layout:
    part = {Carries.INFORMATION: " (information only)", Carries.FRONT: " (front only)"}.get(
        Carries(carries), ""
    )
    words = f"{name}, {width} × {height} mm{part}"
    return Layout(key, words, D(width), D(height), carries=carries)


BUILT_IN = (
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
    _lid(50),
    _lid(60),
    _lid(70),
    _base(50),
    _base(60),
    _base(70),
    _named("front-50x70", "Front", 50, 70, Carries.FRONT),
    _named("back-50x70", "Back", 50, 70, Carries.INFORMATION),
    _named("front-70x90", "Front", 70, 90, Carries.FRONT),
    _named("back-70x90", "Back", 70, 90, Carries.INFORMATION),
    _named("band-180x18", "Tin side band", 180, 18, Carries.INFORMATION),
    _named("band-200x25", "Tin side band", 200, 25, Carries.INFORMATION),
    _named("wrap-150x45", "Jar wrap", 150, 45),
    _named("wrap-180x60", "Jar wrap", 180, 60),
    _named("belly-200x50", "Soap belly band", 200, 50),
    _named("square-60", "Square", 60, 60),
    _named("square-80", "Square", 80, 80),
)
# Sizes that carry the whole label, the smallest first.
ALL = tuple(layout for layout in BUILT_IN if layout.carries == Carries.ALL)
BY_KEY = {layout.key: layout for layout in BUILT_IN}
DEFAULT = BUILT_IN[0]


def own_layout(size: OwnSize) -> Layout:
    """A size that the workshop added, as a layout."""
    is_round = size.shape == Shape.ROUND
    margin = max(size.margin_mm, size.width_mm * ROUND_MARGIN) if is_round else size.margin_mm
    height = size.width_mm if is_round else size.height_mm
    return Layout(
        size.key,
        size.name,
        size.width_mm,
        height,
        margin,
        own_grid(size, height),
        size.shape,
        size.carries,
        size.dpi,
    )


def own_grid(size: OwnSize, height_mm: Decimal) -> Grid | None:
    if not size.columns or not size.rows:
        return None
    return Grid(
        size.page_width_mm or D(0),
        size.page_height_mm or D(0),
        size.columns,
        size.rows,
        size.left_mm or D(0),
        size.top_mm or D(0),
        size.width_mm + size.gap_right_mm,
        height_mm + size.gap_down_mm,
    )


def all_layouts() -> list[Layout]:
    """The workshop's own sizes, then those that come with the book."""
    own = [own_layout(size) for size in OwnSize.objects.filter(is_active=True)]
    return own + list(BUILT_IN)


def layout_of(key: str) -> Layout | None:
    """The layout of a key, also of a size no longer in use."""
    if key in BY_KEY:
        return BY_KEY[key]
    number = key.removeprefix("own-")
    if not number.isdecimal() or len(number) > 12:
        return None
    found = OwnSize.objects.filter(pk=int(number)).first()
    return own_layout(found) if found else None
