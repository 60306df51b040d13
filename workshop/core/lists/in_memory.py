"""The one list, of rows that were worked out and that no table holds: a trace's, a recall's.

    return read_rows(BOUGHT, request, found.bought).answer("trace/rows.html")

A text is looked for in every cell, a press on any head sorts by what is under it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import Q

from workshop.core.access import Request
from workshop.core.lists.columns import Act, Column, Tick, day_of
from workshop.core.lists.listing import Choice, Listing, Pick, Row, Shown
from workshop.core.web.pagination import PER_PAGE


def read_rows(
    listing: Listing, request: Request, rows: Sequence[Any], *, sums: Any = None
) -> Shown:
    """The page that the address asks for; `sums` is a row of what all the others come to."""
    return ShownRows(listing, request, rows, sums=sums)


@dataclass
class ShownRows(Shown):
    """One page of rows in memory; `order` of the listing is the order in which they came.

    Its `days` and the `field` of a choice name what stands in a row, with "__" between the steps.
    """

    sums: Any = None

    @cached_property
    def _searched(self) -> list[Any]:
        rows = [row for row in self.every if self._is_within(row)]
        for choice in self.listing.choices:
            if answer := self.chosen(choice):
                rows = [row for row in rows if _answers(row, choice, answer)]
        if self.text:
            rows = [row for row in rows if self._mentions(row, self.text.lower())]
        return rows

    def _mentions(self, row: Any, text: str) -> bool:
        return any(text in _words(column, row) for column in self.columns)

    def _is_within(self, row: Any) -> bool:
        if not self.listing.days or not (self.from_day or self.to_day):
            return True
        value = _found(row, self.listing.days)
        if value is None:
            return False
        day = day_of(value)
        return (not self.from_day or self.from_day <= day) and (
            not self.to_day or day <= self.to_day
        )

    @cached_property
    def rows(self) -> list[Any]:
        """Every row that was asked for, in the order asked for; what says nothing comes last."""
        rows = self._searched
        column, downward = self._sorted
        if column is None:
            return rows
        keyed = [(_key(column, row), row) for row in rows]
        said = [pair for pair in keyed if pair[0] is not None]
        said.sort(key=lambda pair: pair[0], reverse=downward)
        return [row for _, row in said] + [row for key, row in keyed if key is None]

    def _one_by_one(self) -> Iterator[Any]:
        return iter(self.rows)

    @cached_property
    def page(self) -> Page[Any]:
        return Paginator(self.rows, PER_PAGE).get_page(self.request.GET.get("page"))

    @cached_property
    def counts(self) -> list[tuple[Pick, int, str]]:
        """States are asked by a choice."""
        return []

    @cached_property
    def groups(self) -> list[tuple[date | None, list[Row]]]:
        """The page's rows; their sum, when all rows are shown, stands on the same points."""
        rows = list(self.page)
        if self.sums is None or self.is_narrowed:
            return [(None, list(self._cells(rows)))]
        *shown, self.total = self._cells([*rows, self.sums])
        return [(None, shown)]

    @property
    def within_days(self) -> Q:
        raise NotImplementedError("rows in memory are narrowed one by one")

    def can_sort(self, column: Column) -> bool:
        return not isinstance(column, Act | Tick)

    @property
    def has_search(self) -> bool:
        return True


def _words(column: Column, row: Any) -> str:
    below = column.below(row) if column.below else ""
    return f"{column.plain(row)} {below}".lower()


def _found(row: Any, name: str) -> Any:
    for step in name.split("__"):
        row = getattr(row, step, None)
    return row


def _answers(row: Any, choice: Choice, answer: str) -> bool:
    return str(_found(row, choice.field or choice.key)) == answer


def _key(column: Column, row: Any) -> Any:
    value = column.plain(row)
    if value in (None, ""):
        return None
    return value if isinstance(value, Decimal | int | date) else str(value).lower()
