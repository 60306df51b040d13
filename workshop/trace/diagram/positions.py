"""Where each box and each band of the picture stands."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from itertools import accumulate
from typing import NamedTuple
from unicodedata import east_asian_width


class Size(NamedTuple):
    """How large the boxes are, how far apart, and how many stand above each other at most.

    A column of more is set in several, each half a row lower than the one before it, so that
    bands pass between the boxes.
    """

    width: int
    height: int
    row_gap: int
    column_gap: int
    rows: int
    widest_band: Fraction


ROOMY = Size(172, 60, 12, 62, 10_000, Fraction(42))
DENSE = Size(186, 21, 5, 44, 40, Fraction(15))
MARGIN, BESIDE = 6, 14  # at the edge, and between the parts of one column
NARROWEST = Fraction(3, 2)
WIDEST_TO_FIT = 1400

# Columns from left to right. In-house lots have one column a depth on each side of the asked one.
BOUGHT, FURTHER_BACK, ASKED, FURTHER_ON, FINISHED, CUSTOMERS = 0, 1, 10, 19, 20, 30


@dataclass
class Node:
    """A box: at most three lines of text, and where a touch leads."""

    key: str
    column: int
    lines: list[str]
    address: str
    amount: Fraction = Fraction()
    manner: str = ""
    x: int = 0
    y: int = 0
    size: Size = ROOMY

    @property
    def text(self) -> list[tuple[int, int, str]]:
        """Each line with its place; the first is the name or the code."""
        if self.size is DENSE:
            return self._in_one_line()
        first = self.y + self.size.height // 2 + 5 - 9 * (len(self.lines) - 1)
        longest = LONGEST if self.manner == "fold" else LONGEST_BOLD
        return [
            (self.x + 10, first + 18 * row, _cut(line, LONGEST if row else longest))
            for row, line in enumerate(self.lines)
        ]

    def _in_one_line(self) -> list[tuple[int, int, str]]:
        is_lot = self.manner in ("", "asked")
        first = self.lines[0] if is_lot else _cut(self.lines[0], LONGEST_NAME)
        base = self.y + self.size.height - 6
        beside = [(self.x + BESIDE_CODE, base, _cut(self.lines[1], LONGEST_BESIDE))]
        return [(self.x + 6, base, first), *(beside if is_lot else [])]

    @property
    def title(self) -> str:
        return ", ".join(self.lines)


LONGEST, LONGEST_BOLD = 21, 18
BESIDE_CODE, LONGEST_BESIDE, LONGEST_NAME = 97, 10, 20


def _cut(text: str, longest: int) -> str:
    if sum(map(_room, text)) <= longest:
        return text
    ends = accumulate(map(_room, text))
    fitting = sum(end < longest for end in ends)
    return text[:fitting].rstrip(" ,…") + "…"


def _room(letter: str) -> int:
    """Letters of the East and pictures are as wide as two, and so are the widest of our own."""
    return 2 if letter in "MW@%" or east_asian_width(letter) in "WF" else 1


@dataclass(frozen=True)
class Edge:
    d: str
    width: Decimal
    is_counted: bool


@dataclass
class Diagram:
    nodes: list[Node] = field(default_factory=list)
    edges: list[Edge] = field(default_factory=list)
    width: int = 0
    height: int = 0
    size: Size = ROOMY

    @property
    def is_dense(self) -> bool:
        return self.size is DENSE

    @property
    def fits(self) -> bool:
        """Whether it can shrink to the width of the page and still be read."""
        return self.width <= WIDEST_TO_FIT


@dataclass
class Tie:
    """What flows from one box to another; pieces are drawn thin, for they have no grams."""

    source: str
    target: str
    amount: Fraction
    is_counted: bool = False


Pair = tuple[str, str]


def laid_out(nodes: list[Node], ties: list[Tie], size: Size = ROOMY) -> Diagram:
    picture = _placed(nodes, ties, size)
    picture.edges = list(_edges(ties, {node.key: node for node in picture.nodes}, size))
    return picture


def by_column(nodes: Iterable[Node]) -> dict[int, list[Node]]:
    columns: dict[int, list[Node]] = defaultdict(list)
    for node in sorted(nodes, key=lambda node: node.column):
        columns[node.column].append(node)
    return columns


def _placed(nodes: list[Node], ties: list[Tie], size: Size) -> Diagram:
    """Give every box its place, beginning at the lot asked about and working outwards."""
    columns = by_column(nodes)
    pitch = size.height + size.row_gap
    parts = {number: -(-len(column) // size.rows) for number, column in columns.items()}
    rows = {number: -(-len(column) // parts[number]) for number, column in columns.items()}
    lower = pitch // 2 if max(parts.values()) > 1 else 0
    height = max(rows.values()) * pitch - size.row_gap + lower + 2 * MARGIN
    neighbours: dict[str, list[str]] = defaultdict(list)
    for tie in ties:
        neighbours[tie.source].append(tie.target)
        neighbours[tie.target].append(tie.source)
    x_of = _lefts(parts, size)
    y_of: dict[str, int] = {}
    for number in sorted(columns, key=lambda number: abs(number - ASKED)):
        column = columns[number]
        column.sort(key=lambda node: (node.manner == "fold", _mean_y(neighbours[node.key], y_of)))
        top = (height - rows[number] * pitch + size.row_gap - lower) // 2
        for place, node in enumerate(column):
            row, part = divmod(place, parts[number])
            node.size = size
            node.x = x_of[number] + part * (size.width + BESIDE)
            node.y = top + row * pitch + part % 2 * lower
            y_of[node.key] = node.y
    last = max(x_of)
    width = x_of[last] + parts[last] * (size.width + BESIDE) - BESIDE + MARGIN
    placed = [node for column in columns.values() for node in column]
    return Diagram(placed, [], width, height, size)


def _lefts(parts: Mapping[int, int], size: Size) -> dict[int, int]:
    """Where each column begins, from left to right."""
    lefts: dict[int, int] = {}
    x = MARGIN
    for number, several in parts.items():
        lefts[number] = x
        x += several * (size.width + BESIDE) - BESIDE + size.column_gap
    return lefts


def _mean_y(neighbours: Iterable[str], y_of: Mapping[str, int]) -> Fraction:
    known = [y_of[key] for key in neighbours if key in y_of]
    return Fraction(sum(known), len(known)) if known else Fraction()


def _edges(ties: list[Tie], node_of: Mapping[str, Node], size: Size) -> Iterable[Edge]:
    """Bands from box to box, side by side where several meet, the widest box giving the scale."""
    drawn = [
        tie
        for tie in ties
        if tie.source in node_of
        and tie.target in node_of
        and node_of[tie.source].column <= node_of[tie.target].column
    ]
    drawn.sort(key=lambda tie: (node_of[tie.target].y, node_of[tie.source].y))
    width_of = _widths(drawn, node_of, size)
    leaving = _stacks(drawn, width_of, node_of, at_source=True)
    arriving = _stacks(
        sorted(drawn, key=lambda tie: node_of[tie.source].y), width_of, node_of, at_source=False
    )
    for tie in drawn:
        pair = (tie.source, tie.target)
        x1, x2 = node_of[tie.source].x + size.width, node_of[tie.target].x
        bend = (x1 + x2) // 2
        if x2 < x1:  # both in one column: around its side
            x2, bend = node_of[tie.target].x + size.width, x1 + size.column_gap
        y1, y2 = leaving[pair], arriving[pair]
        yield Edge(
            f"M{x1} {y1}C{bend} {y1} {bend} {y2} {x2} {y2}",
            _pixels(width_of[pair]),
            tie.is_counted,
        )


def _widths(ties: list[Tie], node_of: Mapping[str, Node], size: Size) -> dict[Pair, Fraction]:
    """Each side of the lot asked about has its own scale: its units may differ."""
    widths: dict[Pair, Fraction] = {}
    for is_ahead in (False, True):
        side = [tie for tie in ties if (node_of[tie.source].column >= ASKED) == is_ahead]
        through: dict[tuple[str, bool], Fraction] = defaultdict(Fraction)
        for tie in side:
            if not tie.is_counted:
                through[tie.source, True] += tie.amount
                through[tie.target, False] += tie.amount
        most = max(through.values(), default=Fraction())
        for tie in side:
            share = tie.amount / most if most and not tie.is_counted else Fraction()
            widths[tie.source, tie.target] = max(NARROWEST, share * size.widest_band)
    return widths


def _stacks(
    ties: Iterable[Tie],
    width_of: Mapping[Pair, Fraction],
    node_of: Mapping[str, Node],
    *,
    at_source: bool,
) -> dict[Pair, Decimal]:
    """Where each band touches its box, so that bands lie side by side around the middle."""
    bands: dict[str, list[Pair]] = defaultdict(list)
    for tie in ties:
        bands[tie.source if at_source else tie.target].append((tie.source, tie.target))
    touch: dict[Pair, Decimal] = {}
    for key, pairs in bands.items():
        total = sum((width_of[pair] for pair in pairs), Fraction())
        tall = node_of[key].size.height
        squeeze = min(Fraction(1), Fraction(tall - 6) / total)
        y = node_of[key].y + Fraction(tall, 2) - total * squeeze / 2
        for pair in pairs:
            touch[pair] = _pixels(y + width_of[pair] * squeeze / 2)
            y += width_of[pair] * squeeze
    return touch


def _pixels(value: Fraction) -> Decimal:
    return Decimal(round(value * 10)) / 10
