"""A week as it is proposed: its lines, what found no place, and what names this very proposal."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from hashlib import sha256

from workshop.kettle.models import Kettle
from workshop.ledger.models import Item, Lot
from workshop.planning.models import Hours
from workshop.planning.week.jobs import BatchJob, Frame, RunJob
from workshop.planning.week.standing import StandingBatch, StandingRun
from workshop.rules.planning.week.tasks import Family, Score

Job = BatchJob | RunJob


@dataclass(frozen=True)
class Row:
    """One line: a batch with its kettle and lots, or a packing run."""

    key: str
    job: Job
    day: date
    kettle: Kettle | None
    draws: tuple[tuple[Lot, Decimal], ...]
    wash_after: Family | None
    minutes: int
    why: tuple[str, ...]

    @property
    def is_batch(self) -> bool:
        return isinstance(self.job, BatchJob)

    @property
    def item(self) -> Item:
        return item_of(self.job)

    @property
    def amount(self) -> Decimal:
        """Grams of a batch, units of a packing run."""
        return self.job.grams if isinstance(self.job, BatchJob) else Decimal(self.job.units)

    @property
    def share(self) -> Decimal:
        """How full its kettle is."""
        return self.amount / self.kettle.capacity_g if self.kettle else Decimal(0)


@dataclass(frozen=True)
class Undone:
    """What is wanted and finds no place, and why."""

    job: Job
    why: str

    @property
    def item(self) -> Item:
        return item_of(self.job)


@dataclass(frozen=True)
class Proposal:
    """A week."""

    frame: Frame
    hours: Hours
    minutes: Sequence[int]
    taken: Sequence[int]
    kettles: Sequence[Kettle]
    rows: Sequence[Row]
    undone: Sequence[Undone]
    standing: Sequence[StandingBatch]
    standing_runs: Sequence[StandingRun]
    score: Score

    @property
    def batches(self) -> list[Row]:
        return [row for row in self.rows if row.is_batch]

    @property
    def runs(self) -> list[Row]:
        return [row for row in self.rows if not row.is_batch]

    @property
    def reserved_g(self) -> Decimal:
        return sum((amount for row in self.batches for _, amount in row.draws), Decimal(0))

    @property
    def reserved_lots(self) -> int:
        return len({lot.pk for row in self.batches for lot, _ in row.draws})

    @property
    def mark(self) -> str:
        """What names this very proposal: another stock or another change gives another."""
        told = [
            (
                row.key,
                row.day.isoformat(),
                f"{row.amount.normalize():f}",
                row.kettle.pk if row.kettle else 0,
                [(lot.pk, f"{amount.normalize():f}") for lot, amount in row.draws],
            )
            for row in self.rows
        ]
        return sha256(repr(told).encode()).hexdigest()[:24]


def item_of(job: Job) -> Item:
    """What a job makes."""
    if isinstance(job, BatchJob):
        return job.making.version.formula.item
    return job.looked.product.item
