"""What stands on a paper from top to bottom: pieces that are not parted by the end of a page."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace

from workshop.core.paper.typeset import CannotSet
from workshop.core.paper.typeset.lines import Line

PT_PER_MM = 72 / 25.4
# As css/paper.css has it: the line height in parts of the size, and where letters stand in it.
LINE, BASELINE = 1.4, 1.0555


@dataclass(eq=False)
class Tag:
    """What a thing is, for those who hear a page read; `spots` are its pages and numbers."""

    kind: str
    title: str = ""
    columns: int = 1
    inside: list["Tag"] = field(default_factory=list)
    spots: list[tuple[int, int]] = field(default_factory=list)

    def add(self, kind: str, title: str = "", columns: int = 1) -> "Tag":
        self.inside.append(Tag(kind, title, columns))
        return self.inside[-1]


@dataclass(frozen=True)
class Words:
    """A line of words from that point of its base line, measured from the upper left."""

    x_pt: float
    y_pt: float
    line: Line
    tag: Tag | None


@dataclass(frozen=True)
class Bar:
    """A line across; or down, where it is higher than wide."""

    x_pt: float
    y_pt: float
    width_pt: float
    height_pt: float
    shade: float = 0


@dataclass(frozen=True)
class Drawing:
    """A picture with its upper left corner there."""

    x_pt: float
    y_pt: float
    number: int
    tag: Tag | None


@dataclass(frozen=True)
class Code:
    """The bars of a linear code, their upper left corner there."""

    x_pt: float
    y_pt: float
    width_pt: float
    height_pt: float
    dark: list[tuple[float, float]]
    tag: Tag | None


@dataclass(frozen=True)
class Rule:
    """A graduated rule from that point to the right: its ticks hang a millimetre apart, every fifth
    and every tenth longer."""

    x_pt: float
    y_pt: float
    width_pt: float


Mark = Words | Bar | Code | Drawing | Rule


@dataclass(frozen=True)
class Chunk:
    """`keeps` holds it to the next one; `head` is said again where a page begins with it."""

    height_pt: float
    marks: list[Mark]
    before_pt: float = 0
    after_pt: float = 0
    keeps: bool = False
    head: tuple["Chunk", ...] = ()


def moved(marks: Iterable[Mark], right_pt: float, down_pt: float) -> Iterator[Mark]:
    for mark in marks:
        yield replace(mark, x_pt=mark.x_pt + right_pt, y_pt=mark.y_pt + down_pt)


def silent(chunk: Chunk) -> Chunk:
    """The same to look at, and not read a second time."""
    marks = [
        mark if isinstance(mark, Bar | Rule) else replace(mark, tag=None) for mark in chunk.marks
    ]
    return replace(chunk, marks=marks)


def height_of(chunks: Iterable[Chunk]) -> float:
    """From the top of the first to the end of the last; of two spaces the larger counts."""
    down = after = 0.0
    for number, chunk in enumerate(chunks):
        down += (max(after, chunk.before_pt) if number else 0) + chunk.height_pt
        after = chunk.after_pt
    return down


def joined(chunks: list[Chunk]) -> tuple[float, list[Mark]]:
    """All of them as one piece."""
    marks: list[Mark] = []
    for number, chunk in enumerate(chunks):
        top = height_of(chunks[: number + 1]) - chunk.height_pt
        marks.extend(moved(chunk.marks, 0, top))
    return height_of(chunks), marks


def words_at(
    lines: Iterable[Line],
    size_pt: float,
    tag: Tag,
    *,
    x_pt: float = 0,
    y_pt: float = 0,
    right_pt: float | None = None,
) -> Iterator[Words]:
    """Lines one below the other, from the left or up to `right_pt`."""
    for number, line in enumerate(lines):
        x = x_pt if right_pt is None else right_pt - line.width_pt
        yield Words(x, y_pt + size_pt * (LINE * number + BASELINE), line, tag)


def pages_of(chunks: list[Chunk], height_pt: float) -> list[list[tuple[float, Chunk]]]:
    """Each page's pieces with their distance from its top."""
    pages: list[list[tuple[float, Chunk]]] = [[]]
    down = after = 0.0
    for group in _kept_together(chunks):
        gap = max(after, group[0].before_pt) if pages[-1] else 0
        if pages[-1] and down + gap + height_of(group) > height_pt:
            pages.append([])
            down, gap = 0.0, 0.0
            group = [*map(silent, group[0].head), *group]
        if height_of(group) > height_pt:
            raise CannotSet("higher than a page")
        for number, chunk in enumerate(group):
            down += gap if not number else max(after, chunk.before_pt)
            pages[-1].append((down, chunk))
            down, after = down + chunk.height_pt, chunk.after_pt
    return pages


def _kept_together(chunks: list[Chunk]) -> Iterator[list[Chunk]]:
    group: list[Chunk] = []
    for chunk in chunks:
        group.append(chunk)
        if not chunk.keeps:
            yield group
            group = []
    if group:
        yield group
