"""Take a file of sheets in: tried as it would be, and then written whole or not at all."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from itertools import count
from typing import Any

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.rules.transfer.written_days import DayOrder, order_of
from workshop.transfer.models import ColumnChoice, SheetImport
from workshop.transfer.spreadsheets.columns import CellFault, Column, bare, day, refuse_unreckoned
from workshop.transfer.spreadsheets.kinds import (
    MASTER_KINDS,
    NEW,
    SAME,
    Desk,
    RefusedRow,
    Row,
    SheetKind,
    Waits,
    rows_together,
)
from workshop.transfer.spreadsheets.read import Sheet
from workshop.transfer.spreadsheets.steps_and_prices import PRICES, STEPS
from workshop.transfer.spreadsheets.stock import (
    STOCK,
    StockLot,
    known_lots,
    lots_together,
    understood,
    write_stock,
)

KINDS = (*MASTER_KINDS, STEPS, PRICES, STOCK)
MOST_FAULTS_SHOWN = 200
Tell = Callable[[int, int], None]


@dataclass(frozen=True)
class Fault:
    """What is wrong in one cell, or in a whole row, and what to do."""

    row: int
    column: str
    cell: str
    sentence: str


@dataclass
class SheetOutcome:
    """What became of one sheet, or would: how many things, and each fault."""

    name: str
    kind: SheetKind | None
    rows: int = 0
    counts: dict[str, int] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    waiting: int = 0  # sound rows that name what another row, at fault, was to enter
    strange: list[str] = field(default_factory=list)
    lacking: list[str] = field(default_factory=list)

    @property
    def shown_faults(self) -> list[Fault]:
        return sorted(self.faults, key=lambda fault: fault.row)[:MOST_FAULTS_SHOWN]

    def count(self, what: str) -> int:
        return self.counts.get(what, 0)

    @property
    def same(self) -> int:
        return self.count(SAME)

    def add(self, what: str) -> None:
        self.counts[what] = self.count(what) + 1


@dataclass
class Outcome:
    """What became of a file, or would."""

    sheets: list[SheetOutcome]
    asks_for_order: bool = False

    def total(self, what: str) -> int:
        return sum(sheet.count(what) for sheet in self.sheets)

    @property
    def new(self) -> int:
        return self.total(NEW)

    @property
    def changed(self) -> int:
        return self.total("changed")

    @property
    def same(self) -> int:
        return self.total(SAME)

    @property
    def faults(self) -> int:
        return sum(len(sheet.faults) + len(sheet.lacking) for sheet in self.sheets)

    @property
    def waiting(self) -> int:
        return sum(sheet.waiting for sheet in self.sheets)

    @property
    def is_ready(self) -> bool:
        is_something = bool(self.new or self.changed)
        return is_something and not self.faults and not self.asks_for_order


def dry_run(
    sheets: Sequence[Sheet], *, by: User, at: datetime, order: DayOrder | None = None
) -> Outcome:
    """What the file would do. It is done, looked at, and undone: nothing is written."""
    with transaction.atomic():
        outcome = _written(sheets, Desk(by, at), order)
        transaction.set_rollback(True)
    return outcome


@transaction.atomic
def take_in(
    sheets: Sequence[Sheet],
    *,
    file_name: str,
    digest: str,
    by: User,
    at: datetime,
    order: DayOrder | None = None,
    tell: Tell = lambda _done, _of: None,
) -> SheetImport | None:
    """Write all that the file says; None where the book says the same already.

    Raises ActionRefused, and writes nothing, while any cell is at fault. `tell` hears how many
    steps of how many are done.
    """
    outcome = _written(sheets, Desk(by, at), order, tell)
    if outcome.faults or outcome.asks_for_order:
        raise ActionRefused("Something in the file is at fault; nothing was written.")
    if not outcome.is_ready:
        return None
    return SheetImport.objects.create(
        file_name=file_name[:200],
        sha256=digest,
        at=at,
        by=by,
        new=outcome.new,
        changed=outcome.changed,
        same=outcome.same,
    )


@transaction.atomic
def remember_columns(choices: Mapping[tuple[str, str], str], *, by: User, at: datetime) -> None:
    """Keep what headings of one's own stand for, by kind of sheet and heading."""
    known = remembered_columns()
    for (kind, heading), column in choices.items():
        if known.get((kind, heading)) != column:
            ColumnChoice.objects.create(kind=kind, heading=heading, column=column, at=at, by=by)


def remembered_columns() -> dict[tuple[str, str], str]:
    """What each heading of one's own was last said to stand for."""
    return {(one.kind, one.heading): one.column for one in ColumnChoice.objects.order_by("pk")}


# ---- Which sheet is what, and which column which -------------------------------------------------


def _written(
    sheets: Sequence[Sheet],
    desk: Desk,
    order: DayOrder | None,
    tell: Tell = lambda _done, _of: None,
) -> Outcome:
    remembered = remembered_columns()
    known = [(sheet, kind_of(sheet, remembered)) for sheet in sheets]
    desk.count = _counter(known, tell)
    outcomes = {id(sheet): SheetOutcome(sheet.name, kind) for sheet, kind in known}
    for kind in KINDS:
        for sheet, its in known:
            if its is kind:
                _write_sheet(sheet, kind, outcomes[id(sheet)], desk, order, remembered)
    found = list(outcomes.values())
    asks = any("can be two days" in one.sentence for sheet in found for one in sheet.faults)
    return Outcome(found, asks_for_order=asks)


def _counter(known: Sequence[tuple[Sheet, SheetKind | None]], tell: Tell) -> Callable[[], None]:
    """Counts rows; those of stock twice, as they are understood first and written then."""
    rows = sum((2 if kind is STOCK else 1) * (len(sheet.rows) - 1) for sheet, kind in known if kind)
    steps = count(1)
    return lambda: tell(min(next(steps), rows), rows)


def kind_of(sheet: Sheet, remembered: Mapping[tuple[str, str], str]) -> SheetKind | None:
    """By its name, or else the kind that knows most of its headings."""
    for kind in KINDS:
        if bare(sheet.name) in (bare(kind.title), bare(kind.key)):
            return kind
    best = max(KINDS, key=lambda kind: _known_headings(sheet, kind, remembered))
    return best if _known_headings(sheet, best, remembered) >= 2 else None


def _known_headings(
    sheet: Sheet, kind: SheetKind, remembered: Mapping[tuple[str, str], str]
) -> int:
    placed = places(sheet, kind, remembered)
    required = sum(column.required for column in placed.values())
    return len(placed) + required if placed else 0


def places(
    sheet: Sheet, kind: SheetKind, remembered: Mapping[tuple[str, str], str]
) -> dict[int, Column]:
    """Which cell of a row is which column of the kind."""
    placed: dict[int, Column] = {}
    for place, heading in enumerate(sheet.rows[0]):
        chosen = remembered.get((kind.key, bare(heading)[:80]))
        for column in kind.columns:
            is_it = column.key == chosen if chosen is not None else column.is_headed(heading)
            if heading and is_it and column not in placed.values():
                placed[place] = column
    return placed


# ---- The rows ------------------------------------------------------------------------------------


def _write_sheet(
    sheet: Sheet,
    kind: SheetKind,
    outcome: SheetOutcome,
    desk: Desk,
    order: DayOrder | None,
    remembered: Mapping[tuple[str, str], str],
) -> None:
    placed = places(sheet, kind, remembered)
    outcome.strange = [
        heading
        for place, heading in enumerate(sheet.rows[0])
        if heading and place not in placed and (kind.key, bare(heading)[:80]) not in remembered
    ]
    there = {column.key for column in placed.values()}
    outcome.lacking = [
        column.heading for column in kind.columns if column.required and column.key not in there
    ]
    if outcome.lacking:
        return
    rows = list(_read_rows(sheet, placed, outcome, desk, order or _order_in(sheet, placed)))
    if kind is STOCK:
        _write_lots(rows, outcome, desk, sheet, placed)
        return
    for group in rows_together(kind, rows):
        with _faults_of(group, kind, outcome, desk, sheet, placed):
            said = [row for _, row in group]
            assert kind.write is not None  # noqa: S101 -- all but stock have one
            outcome.add(kind.write(said if kind.together else said[0], desk))


def _order_in(sheet: Sheet, placed: Mapping[int, Column]) -> DayOrder | None:
    days = [place for place, column in placed.items() if column.read is day]
    return order_of(
        row[place].strip() for row in sheet.rows[1:] for place in days if place < len(row)
    )


def _read_rows(
    sheet: Sheet,
    placed: Mapping[int, Column],
    outcome: SheetOutcome,
    desk: Desk,
    order: DayOrder | None,
) -> Iterator[tuple[int, Row]]:
    """Each row that is not empty, by its number in the sheet; one with a fault is left out."""
    for number, cells in enumerate(sheet.rows[1:], start=2):
        if not any(cells):
            continue
        outcome.rows += 1
        row: dict[str, Any] = {}
        faults = []
        for place, column in placed.items():
            cell = cells[place].strip() if place < len(cells) else ""
            try:
                refuse_unreckoned(cell)
                row[column.key] = column.read(cell, order)
                if column.required and row[column.key] in ("", None):
                    raise CellFault("It is empty.")
            except CellFault as error:
                faults.append(Fault(number, column.heading, cell, str(error)))
        outcome.faults += faults
        if faults:
            desk.blame([row])
        else:
            yield number, row


class _faults_of:  # noqa: N801 -- reads as a word of the language: with _faults_of(rows):
    """Writes rows in a savepoint; what is refused becomes a fault beside its cell."""

    def __init__(
        self,
        group: Sequence[tuple[int, Row]],
        kind: SheetKind,
        outcome: SheetOutcome,
        desk: Desk,
        sheet: Sheet | None = None,
        placed: Mapping[int, Column] | None = None,
    ) -> None:
        self.group, self.kind, self.outcome, self.desk = group, kind, outcome, desk
        self.known = len(desk.entered)
        self.sheet, self.placed = sheet, placed or {}
        self.savepoint = transaction.atomic()

    def __enter__(self) -> None:
        self.savepoint.__enter__()

    def __exit__(self, kind: Any, error: BaseException | None, trace: Any) -> bool:
        self.savepoint.__exit__(kind, error, trace)
        for _ in self.group:
            self.desk.count()
        if not isinstance(error, ActionRefused):
            return False
        self.desk.forget(self.known)
        self.desk.blame([row for _, row in self.group])
        place, why = (error.place, error.why) if isinstance(error, RefusedRow) else (0, error)
        if isinstance(why, Waits):
            self.outcome.waiting += 1
            return True
        number = self.group[place][0]
        names = {column.key: column.heading for column in self.kind.columns}
        heading = names.get(error.field or "", "")
        cell = self._cell(number, error.field)
        self.outcome.faults.append(Fault(number, heading, cell, error.message))
        return True

    def _cell(self, number: int, key: str | None) -> str:
        for place, column in self.placed.items():
            if column.key == key and self.sheet is not None:
                cells = self.sheet.rows[number - 1]
                return cells[place] if place < len(cells) else ""
        return ""


def _write_lots(
    rows: Sequence[tuple[int, Row]],
    outcome: SheetOutcome,
    desk: Desk,
    sheet: Sheet,
    placed: Mapping[int, Column],
) -> None:
    found: list[StockLot] = []
    known = known_lots()
    for group in lots_together(rows):
        with _faults_of(group, STOCK, outcome, desk, sheet, placed):
            one = understood([row for _, row in group], desk, known)
            outcome.add(SAME if one is None else NEW)
            if one is not None:
                found.append(one)
    if outcome.faults or outcome.waiting:
        return
    with _faults_of(rows[:1], STOCK, outcome, desk, sheet, placed):
        write_stock(found, desk)
