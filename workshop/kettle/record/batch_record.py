"""The record of a batch: what its page and its paper show."""

from dataclasses import dataclass
from decimal import Decimal

from workshop.core import formatting
from workshop.kettle.models import Batch, BatchLine, Check, Photo, TargetChange, Weighing
from workshop.ledger.models import Amendment, Lot, Posting, Seal, Shed, ShedKind, Side


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
    operation = batch.operation
    yields = operation.postings.filter(side=Side.OUT, corrects=None)
    return Record(
        batch=Batch.objects.with_names().with_weights().get(pk=batch.pk),
        lines=list(batch.lines.with_taken().select_related("item", "formula_line")),
        weighings=list(
            Weighing.objects.filter(line__batch=batch)
            .with_names()
            .select_related("posting__lot__receipt_line__receipt__supplier")
        ),
        checks=list(batch.checks.select_related("step", "by")),
        targets=list(
            TargetChange.objects.filter(line__batch=batch).select_related("line__item", "by")
        ),
        photos=list(batch.photos.select_related("step", "upload__uploaded_by")),
        yields=list(yields.select_related("lot__item", "by", "reversal__by")),
        lots=list(
            operation.lots.with_on_hand()
            .select_related("item")
            .prefetch_related("status_changes__by")
            .order_by("pk")
        ),
        left=list(
            operation.sheds.filter(corrects=None).select_related("lot__item", "by", "reversal__by")
        ),
        amendments=list(operation.amendments.select_related("by")),
        seals=list(operation.seals.defer("record").select_related("by")),
    )
