"""Tables: how wide each column is, and each row as a piece of its own."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from workshop.core.paper.typeset import CannotSet
from workshop.core.paper.typeset.chunks import LINE, PT_PER_MM, Bar, Chunk, Mark, Tag, words_at
from workshop.core.paper.typeset.lines import Line, Manner, Text, lines_of, text_of
from workshop.core.paper.typeset.reading import Element

RIGHT_PT, ABOVE_PT = 2 * PT_PER_MM, PT_PER_MM
HEAD_PT = 8
THIN_PT, THIN_SHADE = 0.4, 0.467
PARTS = {"thead": "THead", "tbody": "TBody", "tfoot": "TFoot"}


@dataclass(frozen=True)
class Cell:
    text: Text
    size_pt: float
    columns: int
    is_figure: bool
    tag: Tag

    @property
    def least_pt(self) -> float:
        return self.text.least_pt + RIGHT_PT

    @property
    def most_pt(self) -> float:
        return self.text.most_pt + RIGHT_PT


@dataclass(frozen=True)
class Row:
    cells: list[Cell]
    is_head: bool


def table(element: Element, width_pt: float, manner: Manner, tag: Tag) -> Iterator[Chunk]:
    """Its rows; the head stays with the first row and is repeated on each page."""
    tag = tag.add("Table")
    yield from _captions(element, width_pt, manner, tag)
    rows = list(_rows(element, manner, tag))
    widths = widths_of(rows, width_pt)
    drawn = [(row.is_head, _drawn(row, widths)) for row in rows]
    head = tuple(replace(chunk, keeps=True) for is_head, chunk in drawn if is_head)
    yield from head
    for is_head, chunk in drawn:
        if not is_head:
            yield replace(chunk, head=head)


def _captions(element: Element, width_pt: float, manner: Manner, tag: Tag) -> Iterator[Chunk]:
    for caption in (one for one in element.elements if one.name == "caption"):
        lines = list(lines_of(text_of(caption.inside, manner.within(caption)), width_pt))
        words = words_at(lines, manner.size_pt, tag.add("Caption"))
        yield Chunk(len(lines) * LINE * manner.size_pt, [*words], keeps=True)


def _rows(element: Element, manner: Manner, tag: Tag) -> Iterator[Row]:
    for part in element.elements:
        if part.name == "tr":
            yield _row(part, manner, tag.add("TR"), is_head=False)
        elif part.name in PARTS:
            within = tag.add(PARTS[part.name])
            for row in part.elements:
                yield _row(row, manner, within.add("TR"), is_head=part.name == "thead")
        elif part.name != "caption":
            raise CannotSet(part.name)


def _row(element: Element, manner: Manner, tag: Tag, *, is_head: bool) -> Row:
    return Row([_cell(one, manner, tag) for one in element.elements], is_head)


def _cell(element: Element, manner: Manner, tag: Tag) -> Cell:
    """In a small table a head may go on in a second line, and so may a telephone number."""
    if element.name not in ("td", "th") or "rowspan" in element.attributes:
        raise CannotSet(element.name)
    is_head, is_small = element.name == "th", manner.size_pt < HEAD_PT
    own = replace(manner, size_pt=min(manner.size_pt, HEAD_PT)) if is_head else manner
    within = own.within(element, may_keep=not (is_small and is_head))
    text = text_of(element.inside, within, may_keep=not is_small or "num" in element.classes)
    columns = int(element.attributes.get("colspan", 1))
    is_figure = "num" in element.classes or "r" in element.classes
    kind = tag.add("TH" if is_head else "TD", columns=columns)
    return Cell(text, own.size_pt, columns, is_figure, kind)


def widths_of(rows: list[Row], width_pt: float) -> list[float]:
    """As CSS shares a width out: each column its widest word, and of the rest in proportion to what
    it could still use; where even the words have no room, all of them are made narrower alike.
    """
    count = max((sum(cell.columns for cell in row.cells) for row in rows), default=0)
    least, most = [RIGHT_PT] * count, [RIGHT_PT] * count
    for row in rows:
        for first, cell in _placed(row):
            if cell.columns == 1:
                least[first] = max(least[first], cell.least_pt)
                most[first] = max(most[first], cell.most_pt)
    for row in rows:
        for first, cell in _placed(row):
            lacking = cell.least_pt - sum(least[first : first + cell.columns])
            for column in range(first, first + cell.columns) if lacking > 0 else ():
                least[column] += lacking / cell.columns
                most[column] = max(most[column], least[column])
    return shared_out(least, most, width_pt)


def shared_out(least: list[float], most: list[float], width_pt: float) -> list[float]:
    if sum(most) <= width_pt:
        return [width * width_pt / sum(most) for width in most] if most else []
    if sum(least) >= width_pt:
        return [width * width_pt / sum(least) for width in least]
    part = (width_pt - sum(least)) / (sum(most) - sum(least))
    return [low + (high - low) * part for low, high in zip(least, most, strict=True)]


def _placed(row: Row) -> Iterator[tuple[int, Cell]]:
    """Each cell with its first column."""
    column = 0
    for cell in row.cells:
        yield column, cell
        column += cell.columns


def _drawn(row: Row, widths: list[float]) -> Chunk:
    """A head's words stand on its line, others hang from the top."""
    set_: list[tuple[float, float, Cell, list[Line]]] = []
    for first, cell in _placed(row):
        wide = sum(widths[first : first + cell.columns])
        lines = list(lines_of(cell.text, wide - RIGHT_PT))
        set_.append((sum(widths[:first]), wide, cell, lines))
    high = max((len(lines) * LINE * cell.size_pt for _, _, cell, lines in set_), default=0)
    marks: list[Mark] = []
    for left, wide, cell, lines in set_:
        top = ABOVE_PT + (high - len(lines) * LINE * cell.size_pt if row.is_head else 0)
        right = left + wide - RIGHT_PT if cell.is_figure else None
        marks.extend(words_at(lines, cell.size_pt, cell.tag, x_pt=left, y_pt=top, right_pt=right))
    thick, shade = (1, 0) if row.is_head else (THIN_PT, THIN_SHADE)
    high += 2 * ABOVE_PT
    marks.append(Bar(0, high, sum(widths), thick, shade))
    return Chunk(high + thick, marks)
