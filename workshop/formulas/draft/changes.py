"""How a draft in the book differs from the page on which somebody typed it."""

from collections.abc import Mapping, Sequence
from typing import Any

from workshop.core.formatting import number
from workshop.formulas.draft.validation import LineIn, StepIn
from workshop.formulas.models import Line, Version
from workshop.ledger.models import Item

ABSENT = "not a line"


def meanwhile(version: Version, typed: Mapping[str, Any]) -> list[str]:
    """A sentence for each line, and for the steps, that the book has otherwise than the page."""
    kept = version.lines.select_related("item").prefetch_related("substitutes").order_by("order")
    return [*_lines(list(kept), typed["lines"]), *_steps(version, typed["steps"])]


def _lines(kept: Sequence[Line], typed: Sequence[LineIn]) -> list[str]:
    in_book = {line.item: _of_line(line, line.substitutes.all()) for line in kept}
    on_page = {line.item: _of_line(line, line.substitutes) for line in typed}
    return [
        f"{item} is {in_book.get(item, ABSENT)} in the book now, {on_page.get(item, ABSENT)} here"
        for item in dict.fromkeys([*in_book, *on_page])
        if in_book.get(item) != on_page.get(item)
    ]


def _of_line(line: Line | LineIn, substitutes: Sequence[Item] | Any) -> str:
    names = ", ".join(sorted(map(str, substitutes)))
    stands_in = f", or {names}" if names else ""
    stays = ", for good" if line.is_irreversible else ""
    if line.is_strained_out:
        stays += f", strained out ({line.stays}, {number(line.held_back, most=4)} % held back)"
    return (
        f"{number(line.share, most=4)} % ± {number(line.tolerance, most=4)} % in phase"
        f" {line.phase}{stands_in}{stays}"
    )


def _steps(version: Version, typed: Sequence[StepIn]) -> list[str]:
    names = ("text", "phase", "from_c", "to_c", "minutes", "keep_water_out", "caution")
    in_book = [tuple(getattr(step, name) for name in names) for step in version.steps.all()]
    on_page = [tuple(getattr(step, name) for name in names) for step in typed]
    told = []
    for place in range(max(len(in_book), len(on_page))):
        kept, here = in_book[place : place + 1], on_page[place : place + 1]
        if kept != here:
            said = f"“{kept[0][0]}”" if kept else "not there"
            told.append(f"step {place + 1} is {said} in the book now, otherwise here")
    return told
