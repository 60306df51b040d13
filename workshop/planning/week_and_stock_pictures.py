"""Pictures of planning, drawn alike for the page and for paper; each has a table beside it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from textwrap import wrap
from typing import Any

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from workshop.core import formatting
from workshop.planning.week.jobs import DAYS
from workshop.planning.week.proposal import Proposal

# On the page colours are the style sheet's; on paper they are what it prints as.
PAGE = {
    "ink": "var(--ink)",
    "quiet": "var(--quiet)",
    "line": "var(--line)",
    "edge": "var(--edge)",
    "main": "var(--main)",
    "sheet": "var(--sheet)",
    "wash": "var(--wash)",
    "oat": "var(--oat)",
    "wax": "var(--wax)",
    "late": "var(--mind)",
    "on_oat": "#1d2a26",
}
PAPER = {
    "ink": "#000000",
    "quiet": "#444444",
    "line": "#bbbbbb",
    "edge": "#777777",
    "main": "#1f5c4a",
    "sheet": "#ffffff",
    "wash": "#f0ece2",
    "oat": "#d8c7a0",
    "wax": "#d9a63c",
    "late": "#b4540a",
    "on_oat": "#000000",
}
Colours = Mapping[str, str]

# Said in the drawing too: a paper's own style does not reach into it.
FACE = "Book Sans, Sans Meanwhile, sans-serif"
HEAD, GUTTER, WIDTH = 40, 130, 1120
CELL = (WIDTH - GUTTER) / DAYS
TAG, RACK = 78, 26
LETTERS = 16  # of 14 px in a tag, and of 15 px beside the board


@dataclass(frozen=True)
class Bar:
    """A row of a picture of bars: what it is, how far it reaches, and its words."""

    name: str
    share: float
    words: str
    is_short: bool = False
    mark: float | None = None


def bars(rows: Sequence[Bar], ticks: Sequence[tuple[float, str]], words: str) -> SafeString:
    """Bars over a common rule; hatched from their mark on, where something is left over."""
    return draw_bars(rows, ticks, words, PAGE)


def draw_bars(
    rows: Sequence[Bar], ticks: Sequence[tuple[float, str]], words: str, colours: Colours
) -> SafeString:
    """The same in other colours, for paper."""
    name_width, width, step = 260, 700, 28
    height = 30 + step * len(rows) + 6
    rule = format_html_join(
        "",
        '<line x1="{0}" x2="{0}" y1="22" y2="{1}" stroke="{2}"/>'
        '<text x="{0}" y="16" font-size="14" text-anchor="middle" fill="{3}">{4}</text>',
        (
            (round(name_width + share * width, 1), height - 4, colours["line"], colours["quiet"], w)
            for share, w in ticks
        ),
    )
    drawn = format_html_join(
        "", "{}", ((_bar(row, n, name_width, width, step, colours),) for n, row in enumerate(rows))
    )
    return format_html(
        '<svg class="chart" viewBox="0 0 {} {}" role="img" aria-label="{}" font-family="{}">'
        "{}{}</svg>",
        name_width + width + 160,
        height,
        words,
        FACE,
        rule,
        drawn,
    )


def _bar(row: Bar, number: int, left: int, width: int, step: int, colours: Colours) -> SafeString:
    top = 30 + number * step
    reach = min(max(row.share, 0.0), 1.0) * width
    fill = colours["late"] if row.is_short else colours["main"]
    over = SafeString("")
    if row.mark is not None and row.mark < row.share:
        start = max(row.mark, 0.0) * width
        over = format_html(
            '<rect x="{}" y="{}" width="{}" height="14" fill="{}" stroke="{}"'
            ' stroke-dasharray="3 3"/>',
            round(left + start, 1),
            top,
            round(reach - start, 1),
            colours["sheet"],
            colours["late"],
        )
    return format_html(
        '<text x="{}" y="{}" font-size="15" text-anchor="end" fill="{}">{}</text>'
        '<rect x="{}" y="{}" width="{}" height="14" fill="{}"/>{}'
        '<text x="{}" y="{}" font-size="14" fill="{}">{}</text>',
        left - 10,
        top + 12,
        colours["ink"],
        _cut(row.name, 34),
        left,
        top,
        round(max(reach, 1.0), 1),
        fill,
        over,
        round(left + reach + 8, 1),
        top + 12,
        colours["quiet"],
        row.words,
    )


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1]}…"


@dataclass(frozen=True)
class Tag:
    """Something that is done in a week: its day, its two lines, how full, whether it stands."""

    day: int
    name: str
    below: str
    share: float = 0.0
    is_set: bool = False
    washes: bool = False


@dataclass(frozen=True)
class Shelf:
    """Soap on a rack: from which day of the week to which, and its words."""

    first: int
    last: int
    words: str


@dataclass(frozen=True)
class Board:
    """A week as a picture: rows of tags by kettle, the racks, and the packing bench."""

    monday: date
    off: Sequence[bool]
    rooms: Sequence[tuple[str, str, Sequence[Tag]]]
    shelves: Sequence[Shelf]


def board_of(proposal: Proposal, curing: Iterable[tuple[Any, int]]) -> Board:
    """The week of a proposal, with what stands on the racks."""
    frame = proposal.frame
    rooms = [
        (
            kettle.name,
            "",
            _kettle_tags(proposal, kettle.pk),
        )
        for kettle in proposal.kettles
    ]
    rooms.append(("Packing", "", _run_tags(proposal)))
    shelves = [
        Shelf(0, min(max(ready, 0), DAYS), f"{lot.item}, lot {lot}: {_to_go(ready)}")
        for lot, ready in curing
        if ready > 0
    ]
    for row in proposal.batches:
        if row.job.making.cure_days:  # type: ignore[union-attr]
            first = (row.day - frame.monday).days
            shelves.append(Shelf(first, DAYS, f"{row.item}, newly poured"))
    off = [minutes == 0 for minutes in proposal.minutes]
    return Board(frame.monday, off, rooms, shelves)


def _to_go(ready: int) -> str:
    return f"{ready} days to go on Monday"


def _kettle_tags(proposal: Proposal, kettle: int) -> list[Tag]:
    monday = proposal.frame.monday
    tags = [
        Tag(
            (one.day - monday).days,
            str(one.batch.version.formula.item),
            f"{'finish' if one.is_begun else 'planned'} {one.batch}",
            float(one.batch.target_g / one.batch.kettle.capacity_g),
            is_set=True,
        )
        for one in proposal.standing
        if one.batch.kettle_id == kettle
    ]
    tags += [
        Tag(
            (row.day - monday).days,
            str(row.item),
            formatting.with_unit(row.amount, "g"),
            float(row.share),
            washes=row.wash_after is not None,
        )
        for row in proposal.batches
        if row.kettle and row.kettle.pk == kettle
    ]
    return [tag for tag in tags if 0 <= tag.day < DAYS]


def _run_tags(proposal: Proposal) -> list[Tag]:
    monday = proposal.frame.monday
    tags = [
        Tag(
            (one.day - monday).days,
            str(one.run.item),
            f"{one.run.units} pcs, planned",
            is_set=True,
        )
        for one in proposal.standing_runs
    ]
    tags += [
        Tag((row.day - monday).days, str(row.item), f"{formatting.number(row.amount)} pcs")
        for row in proposal.runs
    ]
    return [tag for tag in tags if 0 <= tag.day < DAYS]


def draw_week(board: Board, words: str, colours: Colours) -> SafeString:
    """The board: days across, kettles, packing and racks down."""
    parts: list[SafeString] = []
    top = HEAD
    for name, below, tags in board.rooms:
        deepest = max((sum(tag.day == day for tag in tags) for day in range(DAYS)), default=0)
        height = max(deepest, 1) * (TAG + 6) + 10
        parts.append(_room(name, below, top, height, colours))
        parts += _tags(tags, top, colours)
        top += height
    if board.shelves:
        height = RACK * len(board.shelves) + 12
        parts.append(_room("Racks", "", top, height, colours))
        parts += [_shelf(one, top + 6 + RACK * n, colours) for n, one in enumerate(board.shelves)]
        top += height
    return format_html(
        '<svg class="board" viewBox="0 0 {} {}" role="img" aria-label="{}" font-family="{}">'
        "{}{}</svg>",
        WIDTH,
        top + 2,
        words,
        FACE,
        _days(board, top, colours),
        format_html_join("", "{}", ((part,) for part in parts)),
    )


def _days(board: Board, bottom: int, colours: Colours) -> SafeString:
    return format_html_join(
        "",
        '<rect x="{0}" y="0" width="{1}" height="{2}" fill="{3}"/>'
        '<line x1="{0}" x2="{0}" y1="0" y2="{2}" stroke="{4}"/>'
        '<text x="{5}" y="24" font-size="17" font-weight="600" fill="{6}">{7}</text>',
        (
            (
                round(GUTTER + day * CELL, 1),
                round(CELL, 1),
                bottom,
                colours["wash"] if board.off[day] else "none",
                colours["line"],
                round(GUTTER + day * CELL + 8, 1),
                colours["ink"],
                f"{on:%a} {on.day} {on:%b}",
            )
            for day in range(DAYS)
            for on in [board.monday + timedelta(days=day)]
        ),
    )


def _room(name: str, below: str, top: int, height: int, colours: Colours) -> SafeString:
    lines = [(line, "600", "ink") for line in _lines(name)]
    lines += [(below, "400", "quiet")] if below else []
    return format_html(
        '<line x1="0" x2="{}" y1="{}" y2="{}" stroke="{}"/>{}',
        WIDTH,
        top,
        top,
        colours["edge"],
        format_html_join(
            "",
            '<text x="0" y="{}" font-size="15" font-weight="{}" fill="{}">{}</text>',
            (
                (top + 22 + 19 * place, weight, colours[ink], line)
                for place, (line, weight, ink) in enumerate(lines)
            ),
        ),
    )


def _lines(text: str) -> list[str]:
    """A name on at most two lines of a tag."""
    found = wrap(text, LETTERS, max_lines=2, placeholder="…")
    return found or [""]


def _tags(tags: Sequence[Tag], top: int, colours: Colours) -> list[SafeString]:
    depth = [0] * DAYS
    found = []
    for tag in tags:
        y = top + 6 + depth[tag.day] * (TAG + 6)
        depth[tag.day] += 1
        found.append(_tag(tag, GUTTER + tag.day * CELL + 4, y, colours))
    return found


def _tag(tag: Tag, x: float, y: float, colours: Colours) -> SafeString:
    """A tag with two cut corners and a hole; one that stands is filled."""
    width = CELL - 8
    fill = colours["wax"] if tag.is_set else colours["sheet"]
    ink = colours["on_oat"] if tag.is_set else colours["ink"]
    below = f"clean, {tag.below}" if tag.washes else tag.below
    gauge = SafeString("")
    if tag.share:
        gauge = format_html(
            '<line x1="{0}" x2="{1}" y1="{2}" y2="{2}" stroke="{3}"/>'
            '<rect x="{0}" y="{4}" width="{5}" height="7" fill="{6}"/>',
            round(x + 18, 1),
            round(x + width - 6, 1),
            round(y + 71, 1),
            colours["edge"],
            round(y + 64, 1),
            round(min(tag.share, 1.0) * (width - 24), 1),
            colours["ink"] if tag.is_set else colours["main"],
        )
    names = format_html_join(
        "",
        '<text x="{}" y="{}" font-size="14" font-weight="600" fill="{}">{}</text>',
        (
            (round(x + 18, 1), round(y + 18 + 17 * place, 1), ink, line)
            for place, line in enumerate(_lines(tag.name))
        ),
    )
    return format_html(
        '<path d="M{} {}h{}v{}h-{}l-8 -8v-{}z" fill="{}" stroke="{}" stroke-width="1.5"/>'
        '<circle cx="{}" cy="{}" r="3" fill="none" stroke="{}"/>{}'
        '<text x="{}" y="{}" font-size="13" fill="{}">{}</text>{}',
        round(x + 8, 1),
        round(y, 1),
        round(width - 8, 1),
        TAG,
        round(width - 8, 1),
        TAG - 16,
        fill,
        colours["main"],
        round(x + 9, 1),
        round(y + TAG / 2, 1),
        colours["main"],
        names,
        round(x + 18, 1),
        round(y + 54, 1),
        ink,
        _cut(below, LETTERS + 3),
        gauge,
    )


def _shelf(one: Shelf, y: float, colours: Colours) -> SafeString:
    x, width = GUTTER + one.first * CELL, (one.last - one.first) * CELL
    return format_html(
        '<rect x="{}" y="{}" width="{}" height="19" fill="{}" stroke="{}"/>'
        '<text x="{}" y="{}" font-size="14" fill="{}">{}</text>',
        round(x, 1),
        y,
        round(max(width, 2), 1),
        colours["oat"],
        colours["ink"],
        round(x + 8, 1),
        y + 15,
        colours["on_oat"],
        _cut(one.words, int(max(width, 140) / 7.5)),
    )


def share_of(part: Decimal | float, whole: Decimal | float) -> float:
    """How much of a whole, as drawn."""
    return float(part) / float(whole) if whole else 0.0
