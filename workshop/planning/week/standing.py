"""What stands in a week already: batches that were planned for it, and those under way."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from django.utils import timezone

from workshop.kettle.models import Batch, BatchState
from workshop.planning.models import Hours, PlannedRun
from workshop.planning.stock.stock_left import waiting_runs
from workshop.planning.week.jobs import DAYS, Frame
from workshop.planning.week.makings import Making
from workshop.rules.planning.week.tasks import Family, Place, Task


@dataclass(frozen=True)
class StandingBatch:
    """A batch that is planned or under way, and its day."""

    batch: Batch
    day: date

    @property
    def is_begun(self) -> bool:
        return self.batch.state == BatchState.UNDER_WAY


def standing_batches(frame: Frame) -> list[StandingBatch]:
    """Every batch that is not poured yet; of a day that is over it is for today."""
    rows = (
        Batch.objects.filter(state__in=[BatchState.PLANNED, BatchState.UNDER_WAY])
        .select_related("version__formula__item", "kettle", "operation", "planned")
        .order_by("pk")
    )
    found = []
    for batch in rows:
        planned = getattr(batch, "planned", None)
        day = planned.day if planned else timezone.localdate(batch.operation.opened_at)
        found.append(StandingBatch(batch, max(day, frame.today)))
    return sorted(found, key=lambda one: (one.day, one.batch.pk))


def standing_tasks(
    standing: list[StandingBatch], frame: Frame, hours: Hours, makings: Mapping[int, Making]
) -> list[Task]:
    """The same as tasks that stay where they are; what they take is off the stock already."""
    found = []
    for one in standing:
        index = (one.day - frame.monday).days
        if not 0 <= index < DAYS:
            continue
        bulk = one.batch.version.formula.item_id
        making = makings.get(bulk)
        found.append(
            Task(
                f"k{one.batch.pk}",
                index,
                making.minutes if making else hours.batch_minutes,
                one.batch.target_g,
                making.family if making else Family(one.batch.version.claims_organic, False),  # noqa: FBT003
                rack_g=one.batch.target_g if one.batch.version.cure_days else Decimal(0),
                fixed=Place(index, one.batch.kettle_id),
            )
        )
    return found


@dataclass(frozen=True)
class StandingRun:
    """A packing run that a week planned, and its day."""

    run: PlannedRun
    day: date


def standing_runs(frame: Frame) -> list[StandingRun]:
    """Every planned run that nobody began; one of a day that is over is for today."""
    return [StandingRun(run, max(run.day, frame.today)) for run in waiting_runs()]


def run_tasks(
    runs: list[StandingRun], frame: Frame, hours: Hours, spent: Mapping[int, int]
) -> list[Task]:
    """The same as tasks that stay where they are."""
    found = []
    for one in runs:
        index = (one.day - frame.monday).days
        if 0 <= index < DAYS:
            minutes = spent.get(one.run.item_id, -(-one.run.units * 60 // hours.units_an_hour))
            found.append(Task(f"r{one.run.pk}", index, minutes, fixed=Place(index)))
    return found


def expected_bulk(standing: list[StandingBatch]) -> dict[int, Fraction]:
    """How much of each bulk these batches are likely to yield."""
    found: dict[int, Fraction] = {}
    for one in standing:
        bulk = one.batch.version.formula.item_id
        left_over = 1 - Fraction(one.batch.expected_loss) / 100
        found[bulk] = found.get(bulk, Fraction()) + Fraction(one.batch.target_g) * left_over
    return found
