"""Columns of a list: what a row has in them, how it is shown, and where it stands on a phone."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from html import unescape
from typing import Any, ClassVar

from django.utils import timezone
from django.utils.html import conditional_escape, format_html, strip_tags
from django.utils.safestring import SafeString

from workshop.core import formatting
from workshop.core.templatetags import tarebook as look

Read = Callable[[Any], Any]
CODE, STATE, AMOUNT, NAME = (
    "c1",
    "c2",
    "c3",
    "c4",
)  # the first four things of a card, by their class
NOTHING = "–"
LOG, FLAT = "log", "flat"


@dataclass(frozen=True)
class Column:
    """A head, and what a row has under it; `order` is what the database sorts by, if it can.

    `to` gives the address that the words lead to, `below` a quiet second line. `place` is the
    class of one of the four cells that come first on a card. With `roles`, only these see it.
    `only` is LOG for a column that stands where days are headings, FLAT for one that they replace.
    """

    head: str
    value: Read
    to: Read | None = None
    below: Read | None = None
    order: tuple[str, ...] = ()
    place: str = ""
    roles: tuple[str, ...] = ()
    only: str = ""

    is_figure: ClassVar[bool] = False
    upward: ClassVar[str] = "A to Z"
    downward: ClassVar[str] = "Z to A"

    @property
    def key(self) -> str:
        """Its name in the address of a sorted list."""
        return self.head.lower().replace(" ", "-")

    @property
    def css(self) -> str:
        return " ".join(filter(None, ["num" if self.is_figure else "", self.place]))

    def plain(self, row: Any) -> Any:
        """What a spreadsheet gets: text, a number or a day."""
        value = self.value(row)
        return unescape(strip_tags(value)).strip() if isinstance(value, SafeString) else value

    def text(self, value: Any) -> str:
        return NOTHING if value in (None, "") else str(value)

    def texts(self, rows: Sequence[Any]) -> list[str]:
        return [self.text(self.value(row)) for row in rows]

    def cells(self, rows: Sequence[Any]) -> list[SafeString]:
        """The inside of each row's cell."""
        shown = zip(self.texts(rows), rows, strict=True)
        return [self._with_below(self._linked(text, row), row) for text, row in shown]

    def _linked(self, text: str, row: Any) -> SafeString:
        address = self.to(row) if self.to else ""
        return format_html('<a href="{}">{}</a>', address, text) if address else self.mark(text)

    def mark(self, text: str) -> SafeString:
        return SafeString(conditional_escape(text))

    def _with_below(self, shown: SafeString, row: Any) -> SafeString:
        said = self.below(row) if self.below else ""
        return format_html('{}<span class="sub">{}</span>', shown, said) if said else shown


@dataclass(frozen=True)
class Name(Column):
    """What a thing is called."""

    place: str = NAME


@dataclass(frozen=True)
class Operation(Column):
    """A reference of something that happened: a link."""

    place: str = CODE

    def _linked(self, text: str, row: Any) -> SafeString:
        address = self.to(row) if self.to else ""
        if not address:
            return format_html('<span class="code">{}</span>', text)
        return format_html('<a class="code" href="{}">{}</a>', address, text)


@dataclass(frozen=True)
class LotTag(Column):
    """A lot: a tag that leads to it."""

    place: str = CODE

    def _linked(self, text: str, row: Any) -> SafeString:
        address = self.to(row) if self.to else ""
        if not address:
            return format_html('<span class="lot">{}</span>', text)
        return format_html('<a class="lot" href="{}">{}</a>', address, text)


@dataclass(frozen=True)
class Amount(Column):
    """A quantity with its unit beside it; the decimal points of a column stand in one line."""

    unit: Read | str = "g"
    place: str = AMOUNT

    is_figure: ClassVar[bool] = True
    upward: ClassVar[str] = "smallest first"
    downward: ClassVar[str] = "largest first"

    def unit_of(self, row: Any) -> str:
        return self.unit if isinstance(self.unit, str) else str(self.unit(row))

    def unit_word(self, row: Any) -> str:
        return "g" if self.unit_of(row) == "g" else "pcs"

    def texts(self, rows: Sequence[Any]) -> list[str]:
        values = [(self.value(row), self.unit_of(row)) for row in rows]
        shown = [
            "" if value is None else formatting.quantity(value, unit) for value, unit in values
        ]
        return formatting.on_the_point(shown)

    def _linked(self, text: str, row: Any) -> SafeString:
        word = self.unit_word(row)
        if not text.strip():
            return SafeString("")
        below_zero = " stop" if text.startswith("−") else ""
        return format_html(
            '<span class="nowrap{}">{}<span class="u">{}</span></span>',
            below_zero,
            on_the_point(text),
            word,
        )


@dataclass(frozen=True)
class Figure(Column):
    """A bare number."""

    is_figure: ClassVar[bool] = True
    upward: ClassVar[str] = "smallest first"
    downward: ClassVar[str] = "largest first"

    def texts(self, rows: Sequence[Any]) -> list[str]:
        values = [self.value(row) for row in rows]
        shown = ["" if value is None else formatting.number(Decimal(value)) for value in values]
        return formatting.on_the_point(shown)

    def mark(self, text: str) -> SafeString:
        return on_the_point(text)


@dataclass(frozen=True)
class Day(Column):
    """A calendar day."""

    upward: ClassVar[str] = "earliest first"
    downward: ClassVar[str] = "latest first"

    def texts(self, rows: Sequence[Any]) -> list[str]:
        return [look.day(self.value(row)) for row in rows]


@dataclass(frozen=True)
class Moment(Column):
    """A day and a time."""

    upward: ClassVar[str] = "earliest first"
    downward: ClassVar[str] = "latest first"

    def plain(self, row: Any) -> Any:
        """Local, and without its zone, which no spreadsheet knows."""
        value = self.value(row)
        return timezone.localtime(value).replace(tzinfo=None) if value else None

    def texts(self, rows: Sequence[Any]) -> list[str]:
        return [look.moment(self.value(row)) for row in rows]


@dataclass(frozen=True)
class Time(Column):
    """The time of a moment, under the heading of its day."""

    only: str = LOG

    def text(self, value: Any) -> str:
        return f"{timezone.localtime(value):%H:%M}" if value else ""


@dataclass(frozen=True)
class State(Column):
    """A status: `value` gives its word, `key` what the kinds of state are known by."""

    key_of: Read = lambda row: ""
    place: str = STATE

    def _linked(self, text: str, row: Any) -> SafeString:
        return look.state(self.key_of(row), text) if text != NOTHING else SafeString("")


@dataclass(frozen=True)
class Act(Column):
    """The one act that a row offers, as a button; no file has it."""

    place: str = "act"

    def text(self, value: Any) -> str:
        return str(value or "")

    def _linked(self, text: str, row: Any) -> SafeString:
        address = self.to(row) if self.to and text else ""
        return (
            format_html('<a class="btn" href="{}">{}</a>', address, text)
            if address
            else SafeString("")
        )


@dataclass(frozen=True)
class Tick(Column):
    """A box to tick, of a form that stands elsewhere on the page and is known by its `form` id.

    `value` is what is sent; a row whose value is None has no box. No file has the column.
    """

    place: str = "tick"
    name: str = ""
    form: str = ""
    ticked: frozenset[str] = frozenset()
    label: Read = str

    def _linked(self, text: str, row: Any) -> SafeString:
        if text == NOTHING:
            return SafeString("")
        return format_html(
            '<label class="form-check"><input class="form-check-input" type="checkbox" form="{}"'
            ' name="{}" value="{}" aria-label="{}"{}></label>',
            self.form,
            self.name,
            text,
            self.label(row),
            SafeString(" checked") if text in self.ticked else "",
        )


def on_the_point(text: str) -> SafeString:
    """A figure with what fills it up to its column's point, which a card leaves out."""
    figure = text.rstrip(formatting.PADDING)
    fill = text.removeprefix(figure)
    return format_html('{}<i class="f">{}</i>', figure, fill) if fill else format_html("{}", text)


def day_of(value: date | datetime) -> date:
    """The local day of a moment, or the day itself."""
    return timezone.localtime(value).date() if isinstance(value, datetime) else value
