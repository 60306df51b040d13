"""Laying out a week: what is short becomes jobs, the rule gives them places, words say why."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

from workshop.core.formatting import day as shown_day
from workshop.core.formatting import with_unit
from workshop.kettle.models import Kettle
from workshop.ledger.models import Lot, Status
from workshop.planning.current_terms import hours_now, terms_by_item
from workshop.planning.stock.outlooks import outlooks
from workshop.planning.week.jobs import (
    DAYS,
    BatchJob,
    Changes,
    Frame,
    RunJob,
    Short,
    batch_jobs,
    run_jobs,
    shorts,
    within_stock,
)
from workshop.planning.week.kettles import rack_room, vats
from workshop.planning.week.makings import makings, run_minutes
from workshop.planning.week.offer import offer_of
from workshop.planning.week.proposal import Job, Proposal, Row, Undone
from workshop.planning.week.standing import (
    expected_bulk,
    run_tasks,
    standing_batches,
    standing_runs,
    standing_tasks,
)
from workshop.rules.planning.week.limits import lateness, minutes_taken
from workshop.rules.planning.week.plan_week import plan_week
from workshop.rules.planning.week.tasks import Draw, Shop, Stock, Task
from workshop.rules.planning.week.week_in_progress import STOCK

ORDERED = 3  # a late day of what a customer waits for counts as three of what fills the stock
SOON = 28  # days in which a lot is said to expire soon
POURED = -1_000_000_000  # below every key of an order: bulk that this very week pours


def propose(*, monday: date, today: date, changes: Changes | None = None) -> Proposal:
    """Lay out the week that begins on a Monday, as things stand today; nothing is written."""
    return _Planner(monday, today, changes or Changes()).proposal()


class _Planner:
    """One week while it is laid out."""

    def __init__(self, monday: date, today: date, changes: Changes) -> None:
        self.changes = changes
        self.hours = hours_now()
        self.frame = Frame(monday, today, self.hours.weeks_ahead)
        self.makings = makings(self.hours)
        self.spent = run_minutes(terms_by_item())
        self.kettles = list(Kettle.objects.filter(is_active=True).order_by("capacity_g", "pk"))
        self.offer = offer_of(self.frame, self.makings)
        self.standing = standing_batches(self.frame)
        self.shop = Shop(
            self._minutes(),
            vats(self.kettles),
            self.offer.stock,
            rack_room(self.frame, self.hours),
            self.hours.cleaning_minutes,
            self.hours.batches_a_day,
        )
        self.runs = standing_runs(self.frame)
        self.wanted = self._not_planned(shorts(outlooks(on=today), self.makings, self.frame))
        self.jobs: dict[str, Job] = {}
        self.tasks: dict[str, Task] = {}
        self.undone: dict[str, str] = {}
        self.week = plan_week([], self.shop)

    def _not_planned(self, wanted: Sequence[Short]) -> list[Short]:
        """What is short once the runs that are planned already have been packed."""
        planned: dict[int, int] = defaultdict(int)
        for one in self.runs:
            planned[one.run.item_id] += one.run.units
        return _less(wanted, planned)

    def _minutes(self) -> list[int]:
        """Minutes of work of each day; days that are over have none."""
        a_day = int(self.hours.hours_a_day * 60)
        return [
            a_day if self.hours.days[index] == "1" and index >= self.frame.start else 0
            for index in range(DAYS)
        ]

    def proposal(self) -> Proposal:
        fixed = standing_tasks(self.standing, self.frame, self.hours, self.makings)
        fixed += run_tasks(self.runs, self.frame, self.hours, self.spent)
        self.tasks = {task.key: task for task in fixed}
        jobs = self._batches()
        deep = self._parts_of_others(jobs)
        if deep:
            self._lay_out(self._within_stock(deep))
        rest = [job for job in jobs if job not in deep]
        packing = run_jobs(self.wanted, self._free(), self.changes)
        self._lay_out([*self._within_stock(rest), *packing])
        self._lay_out(self._runs_after())
        return self._told()

    def _told(self) -> Proposal:
        week, draws = self.week, defaultdict(list)
        for draw in week.draws:
            draws[draw.task].append(draw)
        rows = [self._row(key, draws[key]) for key in self.jobs if key in week.places]
        return Proposal(
            self.frame,
            self.hours,
            self.shop.minutes,
            minutes_taken(self.tasks, week.places, self.shop),
            self.kettles,
            sorted(rows, key=lambda row: (row.day, not row.is_batch, row.key)),
            [self._undone(key, why) for key, why in self.undone.items()],
            self.standing,
            self.runs,
            week.score,
        )

    def _lay_out(self, jobs: Sequence[Job]) -> None:
        """Give places to more jobs; what has one already stays there."""
        self.jobs |= {job.key: job for job in jobs}
        self.tasks |= {job.key: self._task(job) for job in jobs}
        self.week = plan_week(list(self.tasks.values()), self.shop)
        self.undone |= self.week.undone
        for key in self.week.undone:
            del self.tasks[key]
        for key, place in self.week.places.items():
            self.tasks[key] = replace(self.tasks[key], fixed=place)
        known = {lot.key for lot in self.shop.stock}
        poured = [lot for lot in self._poured() if lot.key not in known]
        self.shop = replace(self.shop, stock=[*self.shop.stock, *poured])

    def _batches(self) -> list[BatchJob]:
        on_hand = self.offer.position()
        for bulk, grams in expected_bulk(self.standing).items():
            on_hand[bulk] = on_hand.get(bulk, 0) + grams
        return batch_jobs(self.wanted, self.makings, on_hand, self.changes)

    def _parts_of_others(self, jobs: Sequence[BatchJob]) -> list[BatchJob]:
        """Batches of what goes into other batches: these are laid out first."""
        parts = {item for job in jobs for item in job.needs}
        return [job for job in jobs if job.making.bulk_id in parts]

    def _within_stock(self, jobs: Sequence[BatchJob]) -> list[BatchJob]:
        plain = self.offer.only_plain()
        return within_stock(jobs, self._free(), plain, self.offer.names, self.changes)

    def _free(self) -> dict[int, Decimal]:
        """What of each item can be had within the week and is taken by nothing yet."""
        free: dict[int, Decimal] = defaultdict(Decimal)
        items = {}
        for lot in self.shop.stock:
            if lot.from_day < DAYS:
                free[abs(lot.item)] += lot.amount
                items[lot.key] = abs(lot.item)
        for draw in self.week.draws:
            free[items[draw.lot]] -= draw.amount
        return free

    def _task(self, job: Job) -> Task:
        only = self.changes.days.get(job.key)
        weight = ORDERED if job.is_ordered else 1
        if isinstance(job, RunJob):
            usual = -(-job.units * 60 // self.hours.units_an_hour)
            minutes = self.spent.get(job.looked.product.item_id, usual)
            return Task(job.key, job.due, minutes, needs=job.needs, weight=weight, only_day=only)
        making = job.making
        return Task(
            job.key,
            job.due,
            making.minutes,
            job.grams,
            making.family,
            self.offer.needs_of(job),
            job.grams if making.cure_days else Decimal(0),
            weight,
            only_day=only,
            only_vats=frozenset(kettle.pk for kettle in making.kettles),
        )

    def _runs_after(self) -> list[RunJob]:
        """Pack what the week pours from the day after its pour, in the hours that are left."""
        if all(lot.key > POURED for lot in self.shop.stock):
            return []
        return run_jobs(self._still_wanted(), self._free(), self.changes, suffix="-after")

    def _poured(self) -> list[Stock]:
        """Bulk that the week's own batches yield, ready on the next day; soap has to cure first."""
        found = []
        for place, (key, job) in enumerate(self.jobs.items()):
            where = self.week.places.get(key)
            if where and isinstance(job, BatchJob) and not job.making.cure_days:
                milligrams = Fraction(job.grams) * 1000 * job.making.left_over
                grams = Decimal(int(milligrams)) / 1000
                found.append(Stock(POURED - place, job.making.bulk_id, grams, where.day + 1))
        return found

    def _still_wanted(self) -> list[Short]:
        """What of each product the week does not pack yet."""
        packed: dict[int, int] = defaultdict(int)
        for key in self.week.places:
            job = self.jobs.get(key)
            if isinstance(job, RunJob):
                packed[job.looked.product.item_id] += job.units
        return _less(self.wanted, packed)

    def _row(self, key: str, draws: Sequence[Draw]) -> Row:
        job, place = self.jobs[key], self.week.places[key]
        lots = [
            (self.offer.lots[draw.lot], draw.amount)
            for draw in draws
            if draw.lot in self.offer.lots
        ]
        why = [*job.why, *self._used_up(lots), *self._waiting(lots), *self._arriving(draws)]
        late = lateness(self.tasks[key], place, DAYS)
        if late:
            by = shown_day(self.frame.day(job.due))
            why.append(f"It should have been done by {by}: no earlier day is possible.")
        return Row(
            key,
            job,
            self.frame.day(place.day),
            next((one for one in self.kettles if one.pk == place.vat), None),
            tuple(lots),
            self.week.cleanings.get(key),
            self.tasks[key].minutes,
            tuple(why),
        )

    def _used_up(self, lots: Sequence[tuple[Lot, Decimal]]) -> list[str]:
        """Lots that go in just before they expire."""
        return [
            f"Takes {with_unit(amount, lot.item.unit)} of {lot.item} that expires on "
            f"{shown_day(lot.best_before)}."
            for lot, amount in lots
            if lot.best_before and (lot.best_before - self.frame.monday).days < SOON
        ][:2]

    def _waiting(self, lots: Sequence[tuple[Lot, Decimal]]) -> list[str]:
        return [
            f"Lot {lot} of {lot.item} has to be released first."
            for lot, _ in lots
            if lot.status == Status.QUARANTINE
        ][:2]

    def _arriving(self, draws: Sequence[Draw]) -> list[str]:
        orders = {-one.line.pk: one.line for one in self.offer.on_order}
        coming = [orders[draw.lot] for draw in draws if draw.lot in orders]
        said = [
            f"Waits for {line.item}, expected on {shown_day(line.order.expected_on)}."
            for line in coming
        ]
        own = {lot.key: lot for lot in self.shop.stock if lot.key <= POURED}
        for lot in (own[draw.lot] for draw in draws if draw.lot in own):
            poured = shown_day(self.frame.day(lot.from_day - 1))
            said.append(f"Takes {self.offer.names.get(lot.item, 'bulk')} poured on {poured}.")
        return list(dict.fromkeys(said))[:2]

    def _undone(self, key: str, why: str) -> Undone:
        job = self.jobs[key]
        if why != STOCK:
            return Undone(job, f"{why[0].upper()}{why[1:]}.")
        free = self._free()
        short = [
            self.offer.names.get(item, "its container")
            for item, amount in job.needs.items()
            if free.get(item, Decimal(0)) < amount
        ]
        if not short:
            return Undone(job, "What it takes is promised to what is more urgent.")
        return Undone(job, f"Not enough of {', '.join(short)}: see what to order.")


def _less(wanted: Sequence[Short], units: Mapping[int, int]) -> list[Short]:
    """What is short of each product once so many units of it were packed."""
    rest = [
        replace(one, units=one.units - units.get(one.looked.product.item_id, 0)) for one in wanted
    ]
    return [one for one in rest if one.units > 0]
