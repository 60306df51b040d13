"""A list as a room describes it, and one page of it as an address asks for it."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from functools import cached_property
from itertools import groupby, islice
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import Count, F, Q, QuerySet
from django.db.models.expressions import OrderBy
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.utils.safestring import SafeString

from workshop.core.access import Request
from workshop.core.lists.columns import FLAT, LOG, Act, Column, Tick, Time, day_of
from workshop.core.lists.export import MOST_IN_A_WORKBOOK, csv_file, workbook_file
from workshop.core.web.pagination import PER_PAGE, asked_for

FEW = 6
AT_ONCE = 500
LAST_YEAR = 2199  # as in the form's fields for days


@dataclass(frozen=True)
class Pick:
    """One of the states that a list is narrowed to by a press: its word, rows and kind of state."""

    key: str
    word: str
    rows: Q
    kind: str = ""


@dataclass(frozen=True)
class Choice:
    """A question with given answers, such as the kind of an item; `key` names it in addresses."""

    key: str
    word: str
    answers: Sequence[tuple[str, str]]
    every: str = "all"
    field: str = ""


@dataclass(frozen=True)
class Listing:
    """What a list holds and what it may be asked.

    `search` narrows rows by a typed text, `days` is the field (a day, or a moment where
    `are_moments`) that "from" and "to" are about. With `log`, rows are grouped by the day that it
    gives, as long as they stand in the list's own order, which is `order`. `told` makes of the
    rows that are shown what the columns read, in a few queries for all of them. A union cannot be
    narrowed: its view does that with the `choices`, and says so by `is_narrowed_before`.
    """

    columns: Sequence[Column]
    order: tuple[str | OrderBy, ...]
    none: str
    search: Callable[[Any, str], QuerySet[Any]] | None = None
    search_word: str = "Name or code"
    picks: Sequence[Pick] = ()
    pick_key: str = "state"
    choices: Sequence[Choice] = ()
    days: str = ""
    are_moments: bool = False
    days_word: str = "From"
    log: Callable[[Any], date | datetime] | None = None
    order_words: str = ""
    file: str = "list"
    told: Callable[[Sequence[Any]], Sequence[Any]] | None = None
    is_narrowed_before: bool = False

    def read(self, request: Request, rows: QuerySet[Any]) -> "Shown":
        """The page that the address asks for; what it asks oddly is left aside."""
        return Shown(self, request, rows)

    def first(self, request: Request, rows: QuerySet[Any], number: int) -> "Shown":
        """The first few rows, as a part of a page that is about something else."""
        return Shown(self, request, rows, number)

    def read_together(self, rows: Sequence[Any]) -> Sequence[Any]:
        """What the columns read of these rows."""
        return self.told(rows) if self.told else rows


def mentioning(*names: str) -> Callable[[QuerySet[Any], str], QuerySet[Any]]:
    """A search for a text in any of these fields."""

    def search(rows: QuerySet[Any], text: str) -> QuerySet[Any]:
        asked = Q()
        for name in names:
            asked |= Q(**{f"{name}__icontains": text})
        return rows.filter(asked)

    return search


@dataclass(frozen=True)
class Head:
    """The head of a column: where a press leads, and how it is sorted now ("ascending" or not)."""

    column: Column
    address: str = ""
    sorted: str = ""


@dataclass(frozen=True)
class Row:
    """One row: its cells' classes, heads and contents."""

    cells: Sequence[tuple[str, str, SafeString]]


@dataclass
class Shown:
    """One page of a list as it was asked for."""

    listing: Listing
    request: Request
    every: Any  # a QuerySet; of rows in memory, a sequence
    few: int = 0
    has_files: bool = False
    at: str = ""  # the list's own address, where it is shown at another
    total: Row | None = None
    _kept: dict[str, str] = field(init=False)

    def __post_init__(self) -> None:
        self._kept = {
            key: str(value) for key, value in self.request.GET.items() if key not in ("page", "as")
        }

    # ---- the answer ------------------------------------------------------------------------------

    def answer(self, template: str, context: dict[str, Any] | None = None) -> HttpResponse:
        """The page with the list in it, as `list`; or the list as the file that was asked for."""
        wanted = asked_for(self.request, "as")
        if wanted == "xlsx" and self.page.paginator.count <= MOST_IN_A_WORKBOOK:
            return workbook_file(self.listing.file, self.file_columns, self._each())
        if wanted in ("csv", "xlsx"):
            return csv_file(self.listing.file, self.file_columns, self._each())
        self.has_files = True
        return render(self.request, template, {**(context or {}), "list": self})

    def _each(self) -> Iterator[Any]:
        """Every row that was asked for, some at a time."""
        rows = self._one_by_one()
        while some := list(islice(rows, AT_ONCE)):
            yield from self.listing.read_together(some)

    def _one_by_one(self) -> Iterator[Any]:
        rows: Iterator[Any] = self.rows.iterator(chunk_size=AT_ONCE)
        return rows

    # ---- what is asked ---------------------------------------------------------------------------

    @cached_property
    def columns(self) -> list[Column]:
        """Those that this person sees, in a list of this order."""
        role = getattr(self.request.user, "role", "")
        unfit = FLAT if self.is_log else LOG
        return [
            one
            for one in self.listing.columns
            if (not one.roles or role in one.roles) and one.only != unfit
        ]

    @property
    def is_log(self) -> bool:
        """Whether rows stand under their days."""
        return self.listing.log is not None and self._sorted[0] is None

    @property
    def text(self) -> str:
        return asked_for(self.request)

    @property
    def picked(self) -> str:
        wanted = asked_for(self.request, self.listing.pick_key)
        return wanted if wanted in {pick.key for pick in self.listing.picks} else ""

    @property
    def from_day(self) -> date | None:
        return _day(asked_for(self.request, "from"))

    @property
    def to_day(self) -> date | None:
        return _day(asked_for(self.request, "to"))

    @property
    def is_narrowed(self) -> bool:
        asked = [self.text, self.picked, self.from_day, self.to_day]
        return any(asked) or any(self.chosen(choice) for choice in self.listing.choices)

    def chosen(self, choice: Choice) -> str:
        wanted = asked_for(self.request, choice.key)
        return wanted if wanted in {value for value, _ in choice.answers} else ""

    @cached_property
    def _sorted(self) -> tuple[Column | None, bool]:
        wanted = "" if self.few else asked_for(self.request, "sort")
        found = [
            one
            for one in self.listing.columns
            if self.can_sort(one) and one.key == wanted.removeprefix("-")
        ]
        return (found[0] if found else None), wanted.startswith("-")

    def can_sort(self, column: Column) -> bool:
        return bool(column.order)

    # ---- rows ------------------------------------------------------------------------------------

    @cached_property
    def _searched(self) -> Any:
        """All rows but for the state that was picked."""
        rows = self.every
        if self.listing.is_narrowed_before:
            return rows
        if self.text and self.listing.search:
            rows = self.listing.search(rows, self.text)
        for choice in self.listing.choices:
            if answer := self.chosen(choice):
                rows = rows.filter(Q(**{choice.field or choice.key: answer}))
        return rows.filter(self.within_days)

    @property
    def within_days(self) -> Q:
        """The days asked for, as a condition."""
        name, within = self.listing.days, Q()
        if name and self.from_day:
            within &= Q(**{f"{name}__gte": self._edge(self.from_day)})
        if name and self.to_day:
            within &= Q(**{f"{name}__lt": self._edge(self.to_day + timedelta(days=1))})
        return within

    def _edge(self, day: date) -> date | datetime:
        """A day, or the moment at which it begins."""
        if not self.listing.are_moments:
            return day
        return timezone.make_aware(datetime.combine(day, time()))

    @cached_property
    def rows(self) -> Any:
        """Every row that was asked for, in the order asked for."""
        if self.few:
            return self.every.order_by(*self.listing.order)[: self.few]
        rows = self._searched
        for pick in self.listing.picks:
            if pick.key == self.picked:
                rows = rows.filter(pick.rows)
        column, downward = self._sorted
        if column is None:
            return rows.order_by(*self.listing.order)
        return rows.order_by(*(_by(name, downward=downward) for name in column.order), "pk")

    @cached_property
    def page(self) -> Page[Any]:
        return Paginator(self.rows, PER_PAGE).get_page(self.request.GET.get("page"))

    @cached_property
    def counts(self) -> list[tuple[Pick, int, str]]:
        """The states to pick from, how many rows each has, and where a press leads."""
        picks, name = self.listing.picks, self.listing.pick_key
        if not picks or self.few:
            return []
        counted = self._searched.order_by().aggregate(
            every=Count("pk"),
            **{f"in_{place}": Count("pk", filter=pick.rows) for place, pick in enumerate(picks)},
        )
        every = Pick("", "All", Q())
        return [(every, counted["every"], self.address(**{name: ""}))] + [
            (pick, counted[f"in_{place}"], self.address(**{name: pick.key}))
            for place, pick in enumerate(picks)
        ]

    @cached_property
    def groups(self) -> list[tuple[date | None, list[Row]]]:
        """The page's rows; under their days where it is a log in its own order."""
        rows = self.listing.read_together(list(self.page))
        shown = list(self._cells(rows))
        log = self.listing.log
        if log is None or not self.is_log:
            return [(None, shown)]
        days = [day_of(log(row)) for row in rows]
        paired = zip(days, shown, strict=True)
        return [
            (day, [row for _, row in under])
            for day, under in groupby(paired, key=lambda one: one[0])
        ]

    def _cells(self, rows: Sequence[Any]) -> Iterator[Row]:
        by_column = [column.cells(rows) for column in self.columns]
        frames = [(column.css, column.head) for column in self.columns]
        for cells in zip(*by_column, strict=True):
            yield Row([(css, head, cell) for (css, head), cell in zip(frames, cells, strict=True)])

    # ---- words and addresses ---------------------------------------------------------------------

    @property
    def heads(self) -> Iterator[Head]:
        column, downward = self._sorted
        for one in self.columns:
            if not self.can_sort(one) or self.few:
                yield Head(one)
            elif one is column:
                turned = one.key if downward else f"-{one.key}"
                yield Head(
                    one, self.address(sort=turned), "descending" if downward else "ascending"
                )
            else:
                yield Head(one, self.address(sort=one.key))

    @property
    def order_words(self) -> str:
        column, downward = self._sorted
        if column is None:
            return self.listing.order_words
        return f"{column.head}, {column.downward if downward else column.upward}"

    @property
    def asked_choices(self) -> Iterator[tuple[Choice, str]]:
        return ((choice, self.chosen(choice)) for choice in self.listing.choices)

    @property
    def hidden(self) -> list[tuple[str, str]]:
        """What else the address asks and the form's fields do not."""
        asked = {"q", "from", "to", *(choice.key for choice in self.listing.choices)}
        return [pair for pair in self._kept.items() if pair[0] not in asked]

    @property
    def is_long(self) -> bool:
        """Whether it is worth narrowing down; a short list stands alone."""
        return not self.few and (self.is_narrowed or self.page.paginator.count > FEW)

    @property
    def has_search(self) -> bool:
        return self.listing.search is not None

    @property
    def has_form(self) -> bool:
        asks = self.has_search or self.listing.choices or self.listing.days
        return self.is_long and bool(asks)

    @property
    def newer(self) -> str:
        return self.address(page=str(self.page.previous_page_number()))

    @property
    def older(self) -> str:
        return self.address(page=str(self.page.next_page_number()))

    def address(self, **changes: str) -> str:
        """The present address with something else asked; without a page, its first."""
        query = self.request.GET.copy()
        for key in ("page", "as"):
            query.pop(key, None)
        for key, value in changes.items():
            query.pop(key, None)
            if value:
                query[key] = value
        return f"{self.at}?{query.urlencode()}"

    @property
    def whole(self) -> str:
        """The address of all rows, in the order that they stand in now."""
        keys = ["q", "from", "to", self.listing.pick_key]
        keys += [choice.key for choice in self.listing.choices]
        return self.address(**dict.fromkeys(keys, ""))

    @property
    def file_columns(self) -> list[Column]:
        role = getattr(self.request.user, "role", "")
        return [
            one
            for one in self.listing.columns
            if not isinstance(one, Act | Tick | Time) and (not one.roles or role in one.roles)
        ]

    @property
    def as_csv(self) -> str:
        return self.address(**{"as": "csv"})

    @property
    def as_workbook(self) -> str:
        return self.address(**{"as": "xlsx"})


def _day(text: str) -> date | None:
    """A day of a book's lifetime, or none."""
    try:
        day = parse_date(text)
    except ValueError:
        return None
    return day if day and 1900 <= day.year <= LAST_YEAR else None


def _by(name: str, *, downward: bool) -> OrderBy:
    return F(name).desc(nulls_last=True) if downward else F(name).asc(nulls_last=True)
