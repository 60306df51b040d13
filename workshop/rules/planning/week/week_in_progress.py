"""The week while it is laid out: what stands where, what may stand where, what that comes to."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from workshop.rules.planning.week.limits import (
    cleanings,
    cleanings_in,
    draw_all,
    in_order,
    is_within,
    minutes_taken,
    rack_taken,
    score,
    tardiness,
)
from workshop.rules.planning.week.tasks import Place, Score, Shop, Task, Vat, Week

HOURS = "no day has enough hours left"
KETTLE = "no kettle that holds it is free"
RACK = "no rack has room for it"
STOCK = "what it takes is not there in time"

Places = Mapping[str, Place]


class Desk:
    """A week that is being laid out; what is fixed stands from the beginning."""

    def __init__(self, tasks: Sequence[Task], shop: Shop) -> None:
        self.tasks = {task.key: task for task in tasks}
        self.places: dict[str, Place] = {task.key: task.fixed for task in tasks if task.fixed}
        self.undone: dict[str, str] = {}
        self.shop = self._with_room_for_the_fixed(shop)
        self.vats = {vat.key: vat for vat in shop.vats}
        by_size = sorted(shop.vats, key=lambda vat: (vat.holds_g, vat.key))
        self.rank = {vat.key: number for number, vat in enumerate(by_size)}
        # Of these lots it matters on which day they are taken, or whether at all.
        self.dated = {
            lot.item for lot in shop.stock if lot.from_day > 0 or lot.good_until < shop.days
        }
        self.dated_stock = [lot for lot in shop.stock if lot.item in self.dated]
        self.there: dict[int, Decimal] = defaultdict(Decimal)
        for lot in shop.stock:
            self.there[lot.item] += lot.amount

    def _with_room_for_the_fixed(self, shop: Shop) -> Shop:
        """Where more is fixed than a day has, the day is just full."""
        minutes = minutes_taken(self.tasks, self.places, shop)
        room = list(map(max, minutes, shop.minutes))
        if shop.rack_g is None:
            return replace(shop, minutes=room)
        racks = rack_taken(self.tasks, self.places, shop.days)
        return replace(shop, minutes=room, rack_g=list(map(max, racks, shop.rack_g)))

    def week(self) -> Week:
        """What stands now, with what it takes and what it comes to."""
        drawn = draw_all(self.tasks, self.places, self.shop.stock)
        draws, left = drawn or ([], {lot.key: lot.amount for lot in self.shop.stock})
        return Week(
            dict(self.places),
            draws,
            cleanings(self.tasks, self.places, self.shop),
            dict(self.undone),
            score(self.tasks, self.places, self.shop, left),
        )

    def score(self, places: Places) -> Score | None:
        """What such places come to; None where they break a limit."""
        if not self.has_room(places) or not self._suffices(places):
            return None
        drawn = draw_all(self.tasks, places, self.dated_stock, self.dated)
        return None if drawn is None else score(self.tasks, places, self.shop, drawn[1])

    def _suffices(self, places: Places) -> bool:
        """Whether there is enough of what can be taken on any day."""
        taken: dict[int, Decimal] = defaultdict(Decimal)
        for key in places:
            for item, amount in self.tasks[key].needs.items():
                if item not in self.dated:
                    taken[item] += amount
        return all(amount <= self.there[item] for item, amount in taken.items())

    def has_room(self, places: Places) -> bool:
        """Whether hours and racks suffice."""
        shop = self.shop
        return is_within(minutes_taken(self.tasks, places, shop), shop.minutes) and (
            shop.rack_g is None or is_within(rack_taken(self.tasks, places, shop.days), shop.rack_g)
        )

    def put(self, task: Task) -> None:
        """Put a task into its best place that breaks nothing, or note why it stays undone."""
        options = sorted(self.options(task), key=lambda place: self._badness(task, place))
        for place in options:
            if self._fits({**self.places, task.key: place}):
                self.places[task.key] = place
                return
        self.undone[task.key] = self._why_not(task, options)

    def options(self, task: Task) -> Iterator[Place]:
        """Every day that has the hours; for a batch every kettle that holds it and is free."""
        taken = Counter((place.vat, place.day) for place in self.places.values())
        for day, minutes in enumerate(self.shop.minutes):
            if minutes < task.minutes or task.only_day not in (None, day):
                continue
            if task.family is None:
                yield Place(day)
                continue
            for vat in self.shop.vats:
                if self.holds(vat, task) and taken[vat.key, day] < self.shop.a_day:
                    yield Place(day, vat.key)

    def holds(self, vat: Vat, task: Task) -> bool:
        """Whether that kettle is large enough for the task, and fit for it."""
        fit = task.only_vats is None or vat.key in task.only_vats
        return fit and vat.holds_g >= task.grams

    def _badness(self, task: Task, place: Place) -> tuple[int, int, int, int]:
        """Lateness and cleanings first, then lateness, the earlier day, the smaller kettle."""
        late = tardiness(task, place, self.shop.days)
        added = 0
        if place.vat is not None:
            added = self.cleanings_of(place.vat, {**self.places, task.key: place})
            added -= self.cleanings_of(place.vat, self.places)
        return late + added, late, place.day, self.rank.get(place.vat or 0, 0)

    def cleanings_of(self, vat: int, places: Places) -> int:
        """How often that kettle is cleaned within the week."""
        row = in_order(self.tasks, places, vat)
        return sum(1 for _ in cleanings_in(self.vats[vat].last, row))

    def _fits(self, places: Places) -> bool:
        return (
            self.has_room(places)
            and self._suffices(places)
            and draw_all(self.tasks, places, self.dated_stock, self.dated) is not None
        )

    def _why_not(self, task: Task, options: Sequence[Place]) -> str:
        """The first thing that is wanting, in the order of how hard it is to mend."""
        if not options:
            enough = any(minutes >= task.minutes for minutes in self.shop.minutes)
            return KETTLE if enough else HOURS
        tried = [{**self.places, task.key: place} for place in options]
        if not any(draw_all(self.tasks, each, self.shop.stock) for each in tried):
            return STOCK
        room = self.shop.rack_g
        racks = (rack_taken(self.tasks, each, self.shop.days) for each in tried)
        if room is not None and not any(is_within(each, room) for each in racks):
            return RACK
        return HOURS

    def kilograms_at_stake(self, keys: Sequence[str]) -> Decimal:
        """The most that these tasks could save from expiring in the week."""
        taken = (
            amount
            for key in keys
            for item, amount in self.tasks[key].needs.items()
            if item in self.dated
        )
        return sum(taken, Decimal(0)) / 1000
