"""What a week is asked for: batches of bulk and packing of products, each with its reasons."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from workshop.core.formatting import day as shown_day
from workshop.core.formatting import number, with_unit
from workshop.ledger.models import Unit
from workshop.planning.stock.outlooks import Looked
from workshop.planning.week.makings import Making
from workshop.rules.planning.gross_to_net import from_the_top
from workshop.rules.planning.replenishment import most_before_expiry
from workshop.rules.planning.shortage import batch_sizes, needed, short_on
from workshop.rules.quantities.units import floor_to

DAYS = 7
A_MONTH = 30
TOO_FEW = 6  # units: for fewer nobody sets up a packing run, unless no more is wanted


@dataclass(frozen=True)
class Changes:
    """What somebody changed in a proposal, by the key of its line."""

    days: Mapping[str, int] = field(default_factory=dict)
    amounts: Mapping[str, Decimal] = field(default_factory=dict)
    without: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Request:
    """Grams of a bulk that are wanted by a day (of the week, its Monday being 0), and for what."""

    due: int
    grams: Fraction
    why: str
    is_ordered: bool = False


@dataclass(frozen=True)
class BatchJob:
    """A batch that is wanted, and the weight that it has."""

    key: str
    making: Making
    grams: Decimal
    due: int
    why: tuple[str, ...]
    is_ordered: bool = False

    @property
    def needs(self) -> dict[int, Decimal]:
        return self.making.weights(self.grams)


@dataclass(frozen=True)
class RunJob:
    """Units of a product that are to be packed."""

    key: str
    looked: Looked
    units: int
    due: int
    why: tuple[str, ...]
    is_ordered: bool = False

    @property
    def fill_g(self) -> Decimal:
        grams: Decimal = self.looked.product.fill_g
        return grams

    @property
    def needs(self) -> dict[int, Decimal]:
        product = self.looked.product
        return {
            product.bulk_id: self.units * self.fill_g,
            product.container_id: Decimal(self.units),
        }


@dataclass(frozen=True)
class Frame:
    """The week that is planned, seen from today, and how far ahead it makes."""

    monday: date
    today: date
    weeks_ahead: int

    @property
    def start(self) -> int:
        """Today, counted from Monday; below 0 for a week to come."""
        return (self.today - self.monday).days

    def day(self, index: int) -> date:
        return self.monday + timedelta(days=index)


@dataclass(frozen=True)
class Short:
    """A product that falls short soon: by which day of the week, by how much, and in words.

    `steps` are the units that are needed by one day and the next, a week apart.
    """

    looked: Looked
    due: int
    units: int
    why: str
    steps: tuple[tuple[int, int], ...]
    is_ordered: bool


def shorts(looked: Iterable[Looked], makings: Mapping[int, Making], frame: Frame) -> list[Short]:
    """Products that must be packed, or their bulk begun, within the week; the most urgent first."""
    found = []
    for one in looked:
        making = makings.get(one.product.bulk_id)
        cure = making.cure_days if making else 0
        within = DAYS - frame.start + cure + 1
        on = short_on(one.outlook, within) if within > 0 else None
        if on is None:
            continue
        reach = max(DAYS - frame.start, 0) + cure + DAYS * frame.weeks_ahead
        steps = _steps(one, making, on, reach)
        if steps:
            why = _why_short(one, frame.today + timedelta(days=on))
            ordered = _is_ordered(one, frame.today + timedelta(days=on))
            dated = tuple((day + frame.start, units) for day, units in steps)
            total = sum(units for _, units in steps)
            found.append(Short(one, on + frame.start, total, why, dated, ordered))
    return sorted(found, key=lambda short: (short.due, short.looked.product.item_id))


def _steps(one: Looked, making: Making | None, on: int, reach: int) -> list[tuple[int, int]]:
    """What is needed by the first day on which it is short, and more by each week after that."""
    most = int(-(-_sensible(one, making, needed(one.outlook, reach)) // 1))
    steps, so_far, day = [], 0, on
    while so_far < most:
        last = min(day + DAYS, reach)
        whole = most if last == reach else int(-(-needed(one.outlook, last) // 1))
        if min(whole, most) > so_far:
            steps.append((day, min(whole, most) - so_far))
            so_far = min(whole, most)
        day += DAYS
    return steps


def _is_ordered(one: Looked, on: date) -> bool:
    """Whether it is short for what customers have ordered, and not to fill the stock alone."""
    due = sum((line.open_units for line in one.orders if line.due_on <= on), Decimal(0))
    return due > 0 and Fraction(due) > one.outlook.stock - Fraction(one.minimum)


def _sensible(one: Looked, making: Making | None, units: Fraction) -> Fraction:
    """Never more than is likely to go before it expires; what is ordered is made all the same."""
    months = one.product.shelf_life_months or (making.version.shelf_life_months if making else 0)
    if not months or not one.demand.mean:
        return units
    most = most_before_expiry(months * A_MONTH, A_MONTH, one.demand.mean / 7)
    wanted = Fraction(one.ordered) + Fraction(one.minimum)
    firm = max(wanted - one.outlook.stock, Fraction())
    return max(min(units, most), firm)


def _why_short(one: Looked, on: date) -> str:
    name = one.product.item.name
    if _is_ordered(one, on):
        due = [line for line in one.orders if line.due_on <= on]
        ordered = sum((line.open_units for line in due), Decimal(0))
        last = max(line.due_on for line in due)
        return f"{number(ordered)} {name} are ordered for {shown_day(last)}."
    if one.minimum:
        return f"{name} falls below its {number(one.minimum)} in stock on {shown_day(on)}."
    return f"At the present pace no {name} is left on {shown_day(on)}."


def batch_jobs(
    wanted: Sequence[Short],
    makings: Mapping[int, Making],
    on_hand: Mapping[int, Fraction],
    changes: Changes,
) -> list[BatchJob]:
    """The batches that must be made within the week, for products and for other batches."""
    requests: dict[int, list[Request]] = defaultdict(list)
    for short in wanted:
        product = short.looked.product
        making = makings.get(product.bulk_id)
        if making:
            for due, units in short.steps:
                grams = units * Fraction(product.fill_g)
                last = due - 1 - making.cure_days
                requests[product.bulk_id].append(
                    Request(last, grams, short.why, is_ordered=short.is_ordered)
                )
    parts = {
        bulk: {item: share for item, share in making.shares.items() if item in makings}
        for bulk, making in makings.items()
    }
    jobs: list[BatchJob] = []
    for bulk in from_the_top(parts, makings):
        made = _jobs_of(makings[bulk], requests[bulk], on_hand.get(bulk, Fraction()), changes)
        jobs += made
        for job in made:
            for item, taken in job.needs.items():
                if item in makings:
                    why = f"{makings[bulk].version.formula.item} needs it."
                    due = job.due - 1 - makings[item].cure_days
                    requests[item].append(
                        Request(due, Fraction(taken), why, is_ordered=job.is_ordered)
                    )
    return sorted(jobs, key=lambda job: (job.due, job.key))


def _jobs_of(
    making: Making, requests: Sequence[Request], on_hand: Fraction, changes: Changes
) -> list[BatchJob]:
    """Batches for what the bulk that is there leaves open, if it is due within the week."""
    # Below nought: so much is owed to runs and batches that are planned already.
    left, still = max(on_hand, Fraction()), []
    owed = max(-on_hand, Fraction())
    if owed and requests:
        still.append(Request(requests[0].due, owed, requests[0].why))
    for one in sorted(requests, key=lambda each: each.due):
        used = min(left, one.grams)
        left -= used
        if one.grams > used:
            still.append(replace(one, grams=one.grams - used))
    still.sort(key=lambda each: each.due)
    if not still or still[0].due >= DAYS:
        return []
    need = sum((one.grams for one in still), Fraction()) / making.left_over
    jobs, reached = [], Fraction()
    for place, grams in enumerate(_sizes(making, need, changes)):
        key = f"b{making.bulk_id}-{place}"
        due = _due_at(still, reached)
        reached += Fraction(grams) * making.left_over
        if key not in changes.without and due < DAYS:
            why = _why_batch(making, still, grams, need)
            ordered = any(one.is_ordered and one.due == due for one in still)
            jobs.append(BatchJob(key, making, grams, due, why, is_ordered=ordered))
    return jobs


def _due_at(requests: Sequence[Request], reached: Fraction) -> int:
    """When the first gram beyond those that are made already is wanted."""
    for one in requests:
        reached -= one.grams
        if reached < 0:
            return one.due
    return requests[-1].due


def _sizes(making: Making, need: Fraction, changes: Changes) -> list[Decimal]:
    """As few batches as will do; where one was given another size, the others make the rest."""
    step = making.scale.division_g
    bounds = {"smallest_g": making.smallest_g, "largest_g": making.largest_g, "step_g": step}
    usual = batch_sizes(need, **bounds)
    typed = {
        place: changes.amounts[key]
        for place in range(len(usual))
        if (key := f"b{making.bulk_id}-{place}") in changes.amounts
    }
    if not typed:
        return usual
    rest = iter(batch_sizes(need - sum(map(Fraction, typed.values())), **bounds))
    sizes = [typed[place] if place in typed else next(rest, None) for place in range(len(usual))]
    return [grams for grams in sizes if grams] + list(rest)


def _why_batch(
    making: Making, requests: Sequence[Request], grams: Decimal, need: Fraction
) -> tuple[str, ...]:
    why = list(dict.fromkeys(one.why for one in requests))[:2]
    if Fraction(grams) > need and grams <= making.smallest_g:
        why.append(f"The smallest batch that the {making.scale} can weigh within tolerance.")
    elif grams == floor_to(making.largest_g, making.scale.division_g):
        why.append(f"As much as {making.kettles[-1]} holds.")
    return tuple(why)


def within_stock(
    jobs: Sequence[BatchJob],
    free: Mapping[int, Decimal],
    only_plain: Mapping[int, Decimal],
    names: Mapping[int, str],
    changes: Changes,
) -> list[BatchJob]:
    """The same batches, made smaller where a material does not suffice; the most urgent first.

    `only_plain` is what of `free` no organic batch may take. A batch that would become too small
    to weigh, or that somebody gave its size, is left as it is and stays undone.
    """
    left = dict(free)
    found = []
    for job in jobs:
        barred = only_plain if job.making.family.is_organic else {}
        there = {
            item: max(left.get(item, Decimal(0)) - barred.get(item, Decimal(0)), Decimal(0))
            for item in job.needs
        }
        if job.key not in changes.amounts:
            job = _shrunk(job, there, names)
        if all(amount <= there[item] for item, amount in job.needs.items()):
            for item, amount in job.needs.items():
                left[item] = left[item] - amount
        found.append(job)
    return found


def _shrunk(job: BatchJob, there: Mapping[int, Decimal], names: Mapping[int, str]) -> BatchJob:
    """The job as large as its scarcest material allows, if that can still be weighed."""
    limits = [
        (_allowed(job, item, there[item]), item)
        for item, amount in job.needs.items()
        if amount > there[item]
    ]
    if not limits:
        return job
    grams, item = min(limits)
    if grams < job.making.smallest_g:
        return job
    much = with_unit(there[item], Unit.GRAM)
    more = f"Not more, as {much} of {names[item]} is all there is."
    return replace(job, grams=grams, why=(*job.why, more))


def _allowed(job: BatchJob, item: int, there: Decimal) -> Decimal:
    share = next(line.share for line in job.making.lines if line.item_id == item)
    step = job.making.scale.division_g
    # A line may be rounded up by a step.
    room = max(Fraction(there) - Fraction(step), Fraction())
    return floor_to(min(room * 100 / Fraction(share), Fraction(job.grams)), step)


def run_jobs(
    wanted: Sequence[Short], free: Mapping[int, Decimal], changes: Changes, suffix: str = ""
) -> list[RunJob]:
    """What can be packed of it now, the most urgent first: as far as bulk and containers reach."""
    left = dict(free)
    found = []
    for short in wanted:
        product = short.looked.product
        key = f"p{product.item_id}{suffix}"
        if short.due >= DAYS or key in changes.without:
            continue
        asked = int(changes.amounts.get(key, short.units))
        bulk = left.get(product.bulk_id, Decimal(0)) // product.fill_g
        units = min(asked, int(bulk), int(left.get(product.container_id, Decimal(0))))
        if units <= 0 or units < min(asked, TOO_FEW):
            continue
        why = (short.why, *_why_fewer(short, units, asked, int(bulk)))
        job = RunJob(key, short.looked, units, short.due, why, is_ordered=short.is_ordered)
        for item, amount in job.needs.items():
            left[item] -= amount
        found.append(job)
    return found


def _why_fewer(short: Short, units: int, asked: int, bulk: int) -> tuple[str, ...]:
    if units == asked:
        return ()
    product = short.looked.product
    what = product.bulk.name if units == bulk else product.container.name
    return (f"Not more, as {what} does not suffice for {number(Decimal(asked))}.",)
