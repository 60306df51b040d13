"""The record of a batch: what its page and its paper show."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import reduce
from typing import Any

from django.db.models import QuerySet

from workshop.core import formatting
from workshop.kettle.models import Batch, BatchLine, Check, Photo, TargetChange, Weighing
from workshop.ledger.models import Amendment, Lot, Operation, Posting, Seal, Shed, ShedKind, Side

Grouped = dict[int, list[Any]]


@dataclass(frozen=True)
class Record:
    """Everything written about one batch, in the order it is read."""

    batch: Batch
    lines: list[BatchLine]
    weighings: list[Weighing]
    checks: list[Check]
    targets: list[TargetChange]
    photos: list[Photo]
    yields: list[Posting]
    lots: list[Lot]
    left: list[Shed]
    amendments: list[Amendment]
    seals: list[Seal]

    @property
    def deviations(self) -> list[str]:
        """Whatever did not go as planned, each in a sentence."""
        return [
            *(
                _line_deviation(line)
                for line in self.lines
                if not line.is_planned or self._is_outside(line)
            ),
            *(
                f"{check.get_kind_display().capitalize()} outside its limits: {check.note}"
                for check in self.checks
                if not check.is_within
            ),
            *(_target(change) for change in self.targets),
            *(_substitute(row) for row in self.weighings if row.posting.lot.item != row.line.item),
            *(
                _taken_back("weighing", row.posting)
                for row in self.weighings
                if _is_back(row.posting)
            ),
            *(_taken_back("yield", row) for row in self.yields if _is_back(row)),
            *(_left_taken_back(row) for row in self.left if hasattr(row, "reversal")),
            *(f"Record opened again: {row.reason}" for row in self.amendments),
        ]

    def _is_outside(self, line: BatchLine) -> bool:
        """What is still to be weighed is not outside its tolerance; too much of it is."""
        return line.is_above_target if self.batch.is_being_weighed else not line.is_within

    @property
    def aim_g(self) -> Decimal:
        """What the planned lines were to come to in the end, all changes of targets counted."""
        return sum((line.aim_g for line in self.lines), Decimal(0))

    @property
    def left_by_kind(self) -> list[tuple[str, Decimal]]:
        """What left without being poured, by its kind, in the order of the kinds."""
        stands = [row for row in self.left if not hasattr(row, "reversal")]
        sums = {
            kind.label: sum((row.quantity for row in stands if row.kind == kind), Decimal(0))
            for kind in ShedKind
            if any(row.kind == kind for row in stands)
        }
        return list(sums.items())

    @property
    def unexplained_g(self) -> Decimal:
        """Weighed in, and neither poured nor said to have left."""
        left = sum((grams for _, grams in self.left_by_kind), Decimal(0))
        return self.batch.taken_g - self.batch.put_out_g - left

    @property
    def unexplained_percent(self) -> Decimal:
        return 100 * self.unexplained_g / self.batch.taken_g if self.batch.taken_g else Decimal(0)


def _line_deviation(line: BatchLine) -> str:
    grams = formatting.with_unit(line.taken_g, "g")
    if not line.is_planned:
        return f"Unplanned: {grams} of {line.item}, {line.reason}"
    word = "planned" if line.aim_g == line.target_g else "target"
    aim = formatting.with_unit(line.aim_g, "g")
    return f"Outside its tolerance: {grams} of {line.item}, {word} {aim}"


def _target(change: TargetChange) -> str:
    was, now = (formatting.with_unit(grams, "g") for grams in (change.was_g, change.now_g))
    what = change.get_kind_display()
    return f"Target of {change.line.item} changed from {was} to {now}, {what}: {change.reason}"


def _substitute(weighing: Weighing) -> str:
    lot = weighing.posting.lot
    return f"Substitute: {lot.item}, lot {lot}, in place of {weighing.line.item}"


def _taken_back(what: str, posting: Posting) -> str:
    grams = formatting.with_unit(posting.moved, "g")
    return f"A {what} of {grams}, lot {posting.lot}, taken back: {posting.reversal.reason}"


def _left_taken_back(row: Shed) -> str:
    grams = formatting.with_unit(row.quantity, "g")
    return f"{grams} {row.get_kind_display()}, taken back: {row.reversal.reason}"


def _is_back(posting: Posting) -> bool:
    return hasattr(posting, "reversal")


def record_of(batch: Batch) -> Record:
    """Read the whole record; the number of queries does not grow with it."""
    return records_of([batch])[0]


def records_of(batches: Sequence[Batch]) -> list[Record]:
    """The records of many batches, in their order, with as many queries as that of one."""
    found = _within(Batch.objects.with_names().with_weights(), [batch.pk for batch in batches])
    read = {one.pk: one for one in found}
    of_batch = _of_batches(read)
    of_act = _of_acts({one.operation_id: one.operation for one in read.values()})
    return [
        Record(
            batch=read[batch.pk],
            **{name: rows[batch.pk] for name, rows in of_batch.items()},
            **{name: rows[batch.operation_id] for name, rows in of_act.items()},
        )
        for batch in batches
    ]


def _of_batches(batches: Mapping[int, Batch]) -> dict[str, Grouped]:
    """What hangs on the batches themselves: by its name, the rows of each batch."""
    lines = BatchLine.objects.with_taken().select_related("item", "formula_line")
    weighings = Weighing.objects.with_names().select_related(
        "posting__lot__receipt_line__receipt__supplier"
    )
    targets = TargetChange.objects.select_related("line__item", "by")
    photos = Photo.objects.select_related("step", "upload__uploaded_by")
    return {
        "lines": _grouped(lines, "batch", batches),
        "weighings": _grouped(weighings, "line__batch", batches),
        "checks": _grouped(Check.objects.select_related("step", "by"), "batch", batches),
        "targets": _grouped(targets, "line__batch", batches),
        "photos": _grouped(photos, "batch", batches),
    }


def _of_acts(acts: Mapping[int, Operation]) -> dict[str, Grouped]:
    """What hangs on their operations."""
    made = Lot.objects.with_on_hand().select_related("item").order_by("pk")
    who = ("lot__item", "by", "reversal__by")
    yields = Posting.objects.filter(side=Side.OUT, corrects=None).select_related(*who)
    left = Shed.objects.filter(corrects=None).select_related(*who)
    seals = Seal.objects.defer("record").select_related("by")
    return {
        "lots": _grouped(made.prefetch_related("status_changes__by"), "origin", acts),
        "yields": _grouped(yields, "operation", acts),
        "left": _grouped(left, "operation", acts),
        "amendments": _grouped(Amendment.objects.select_related("by"), "operation", acts),
        "seals": _grouped(seals, "operation", acts),
    }


def _grouped(rows: QuerySet[Any], path: str, owners: Mapping[int, Any]) -> Grouped:
    """The rows of each owner in their order, each told its owner, which need not be read again."""
    found: Grouped = defaultdict(list)
    *through, name = path.split("__")
    for row in _within(rows, owners, path):
        holder = reduce(getattr, through, row)
        key = getattr(holder, f"{name}_id")
        setattr(holder, name, owners[key])
        found[key].append(row)
    return found


def _within(rows: QuerySet[Any], keys: Collection[int], path: str = "pk") -> QuerySet[Any]:
    """Those of several by a list; of one by its key, which a database plans best."""
    if len(keys) == 1:
        return rows.filter(**{path: next(iter(keys))})
    return rows.filter(**{f"{path}__in": list(keys)})
