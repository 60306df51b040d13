"""The rule of the week: it breaks no limit, and an exact solver finds little that is better."""

from collections import defaultdict
from decimal import Decimal
from random import Random
from statistics import median
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_array

from workshop.rules.planning.week.limits import cleanings_in, tardiness
from workshop.rules.planning.week.plan_week import plan_week
from workshop.rules.planning.week.tasks import (
    Family,
    Place,
    Shop,
    Stock,
    Task,
    Vat,
    Week,
    needs_cleaning,
)
from workshop.rules.planning.week.week_in_progress import HOURS, KETTLE, RACK, STOCK

KG = Decimal(1000)
FAMILIES = [Family(organic, scented) for organic in (True, False) for scented in (True, False)]


def batch(key: str, due: int, family: Family = FAMILIES[1], **more: Any) -> Task:
    return Task(key, due, more.pop("minutes", 120), more.pop("grams", KG), family, **more)


# What the rule says, in single cases.


def test_unscented_comes_before_scented_as_that_saves_a_cleaning() -> None:
    scented, plain = batch("beard balm", 1, FAMILIES[0]), batch("barrier balm", 1, FAMILIES[1])
    week = plan_week([scented, plain], Shop([480] * 2, [Vat(1, 2 * KG)]))
    assert week.places == {"barrier balm": Place(0, 1), "beard balm": Place(1, 1)}
    assert week.score.cleanings == 0


def test_what_is_urgent_comes_first_if_a_cleaning_is_the_price() -> None:
    scented, plain = batch("beard balm", 0, FAMILIES[0]), batch("barrier balm", 4, FAMILIES[1])
    week = plan_week([scented, plain], Shop([480, 0, 480], [Vat(1, 2 * KG)]))
    assert week.places["beard balm"].day == 0
    assert week.score.total == 1


def test_what_is_ordered_comes_before_what_fills_the_stock() -> None:
    stock, ordered = batch("a", -40), batch("b", 0, weight=3)
    week = plan_week([stock, ordered], Shop([480] * 2, [Vat(1, KG)]))
    assert week.places == {"b": Place(0, 1), "a": Place(1, 1)}


def test_the_smallest_kettle_that_holds_it_is_taken() -> None:
    week = plan_week([batch("salve", 0)], Shop([480], [Vat(1, 9 * KG), Vat(2, 2 * KG)]))
    assert week.places["salve"] == Place(0, 2)


def test_the_lot_that_expires_first_is_used_first() -> None:
    lots = [Stock(1, 7, KG, good_until=90), Stock(2, 7, KG, good_until=3)]
    salve = batch("salve", 4, needs={7: Decimal(1200)})
    week = plan_week([salve], Shop([480] * 5, [Vat(1, 2 * KG)], lots))
    assert [(draw.lot, int(draw.amount)) for draw in week.draws] == [(2, 1000), (1, 200)]


def test_a_batch_waits_for_what_arrives_in_the_week() -> None:
    salve = batch("salve", 0, needs={7: KG})
    shop = Shop([480] * 5, [Vat(1, 2 * KG)], [Stock(1, 7, KG, from_day=3)])
    assert plan_week([salve], shop).places["salve"].day == 3


@pytest.mark.parametrize(
    ("task", "shop", "why"),
    [
        (batch("a", 0, minutes=500), Shop([480], [Vat(1, KG)]), HOURS),
        (batch("a", 0, grams=2 * KG), Shop([480], [Vat(1, KG)]), KETTLE),
        (batch("a", 0, only_vats=frozenset({2})), Shop([480], [Vat(1, KG)]), KETTLE),
        (batch("a", 0, needs={7: KG}), Shop([480], [Vat(1, KG)]), STOCK),
        (batch("a", 0, rack_g=KG), Shop([480], [Vat(1, KG)], rack_g=[Decimal(900)]), RACK),
    ],
)
def test_what_finds_no_place_says_why(task: Task, shop: Shop, why: str) -> None:
    week = plan_week([task], shop)
    assert week.places == {}
    assert week.undone == {"a": why}


def test_a_changed_day_stands_and_the_rest_follows() -> None:
    first, second = batch("a", 0, only_day=1), batch("b", 1)
    week = plan_week([first, second], Shop([480] * 2, [Vat(1, KG)]))
    assert week.places == {"a": Place(1, 1), "b": Place(0, 1)}


def test_what_is_begun_stands_whatever_the_hours() -> None:
    begun = batch("begun", 0, minutes=600, fixed=Place(0, 1))
    week = plan_week([begun, batch("a", 0)], Shop([480] * 2, [Vat(1, KG)]))
    assert week.places == {"begun": Place(0, 1), "a": Place(1, 1)}


def test_a_week_without_hours_or_kettles_is_empty_and_not_an_error() -> None:
    assert plan_week([batch("a", 0)], Shop([0] * 7, [])).undone == {"a": HOURS}
    assert plan_week([], Shop([480], [])).places == {}


# Any shop.


def random_week(dice: Random, *, most: int = 6) -> tuple[list[Task], Shop]:
    """A small shop: up to six batches and three packing runs, five days, two kettles."""
    days = 5
    items = [1, 2, 3]
    lots = [
        Stock(
            100 + number,
            dice.choice(items),
            dice.choice([1, 2, 4, 8]) * KG,
            from_day=dice.choice([0, 0, 0, 2]),
            good_until=dice.choice([2, 4, 30, 90]),
        )
        for number in range(dice.randint(3, 7))
    ]
    tasks = [
        batch(
            f"batch {number}",
            dice.randint(-1, 6),
            dice.choice(FAMILIES),
            minutes=dice.choice([90, 120, 180]),
            grams=dice.choice([1, 2, 3]) * KG,
            needs={item: dice.choice([300, 700, 1500]) for item in dice.sample(items, 2)},
            rack_g=dice.choice([0, 0, 1]) * KG,
            weight=dice.choice([1, 1, 3]),
        )
        for number in range(dice.randint(1, most))
    ]
    tasks += [
        Task(f"packing {number}", dice.randint(-1, 5), dice.choice([60, 120]))
        for number in range(dice.randint(0, 3))
    ]
    shop = Shop(
        [dice.choice([0, 240, 360, 480]) for _ in range(days)],
        [Vat(1, 2 * KG, dice.choice([None, *FAMILIES])), Vat(2, 4 * KG)],
        lots,
        [dice.choice([1, 2]) * KG] * days,
        dice.choice([0, 30, 60]),
    )
    return [_decimal(task) for task in tasks], shop


def _decimal(task: Task) -> Task:
    needs = {item: Decimal(amount) for item, amount in task.needs.items()}
    return Task(
        task.key,
        task.due,
        task.minutes,
        task.grams,
        task.family,
        needs,
        Decimal(task.rack_g),
        task.weight,
    )


def check_limits(tasks: list[Task], shop: Shop, week: Week) -> None:
    """Live through the week day by day, and look at every limit by itself."""
    by_key = {task.key: task for task in tasks}
    assert set(week.places) | set(week.undone) == set(by_key)
    assert not set(week.places) & set(week.undone)
    minutes: dict[int, int] = defaultdict(int)
    often: dict[Place, int] = defaultdict(int)
    racks = [Decimal(0)] * shop.days
    for key, place in week.places.items():
        task = by_key[key]
        minutes[place.day] += task.minutes
        assert (place.vat is None) == (task.family is None)
        for day in range(place.day, shop.days):
            racks[day] += task.rack_g
        if place.vat is not None:
            often[place] += 1
            assert task.grams <= next(vat.holds_g for vat in shop.vats if vat.key == place.vat)
    for key in week.cleanings:
        minutes[week.places[key].day] += shop.cleaning_minutes
    assert all(minutes[day] <= most for day, most in enumerate(shop.minutes))
    assert all(number <= shop.a_day for number in often.values())
    assert shop.rack_g is None or all(a <= b for a, b in zip(racks, shop.rack_g, strict=True))
    left = {lot.key: lot.amount for lot in shop.stock}
    lots = {lot.key: lot for lot in shop.stock}
    taken: dict[tuple[str, int], Decimal] = defaultdict(Decimal)
    for draw in week.draws:
        left[draw.lot] -= draw.amount
        taken[draw.task, lots[draw.lot].item] += draw.amount
        assert lots[draw.lot].from_day <= week.places[draw.task].day <= lots[draw.lot].good_until
    assert all(amount >= 0 for amount in left.values())
    assert taken == {(key, item): g for key in week.places for item, g in by_key[key].needs.items()}


@given(st.randoms(use_true_random=False))
def test_no_limit_is_ever_broken_and_no_stock_falls_below_nought(dice: Random) -> None:
    tasks, shop = random_week(dice)
    check_limits(tasks, shop, plan_week(tasks, shop))


def test_two_thousand_shops_never_promise_what_is_not_there() -> None:
    for seed in range(2000):
        tasks, shop = random_week(Random(seed), most=4)
        check_limits(tasks, shop, plan_week(tasks, shop))


def test_the_score_is_what_the_places_come_to() -> None:
    for seed in range(50):
        tasks, shop = random_week(Random(seed))
        week = plan_week(tasks, shop)
        late = sum(tardiness(task, week.places.get(task.key), shop.days) for task in tasks)
        assert week.score.late_days == late
        assert week.score.cleanings == len(week.cleanings)
        used = sum(draw.amount for draw in week.draws if draw.lot in _expiring(shop))
        there = sum(lot.amount for lot in shop.stock if lot.key in _expiring(shop))
        assert week.score.waste_kg == (there - used) / 1000


def _expiring(shop: Shop) -> set[int]:
    return {lot.key for lot in shop.stock if lot.good_until < shop.days}


# Against the best there is.


class Exact:
    """The same week as a mixed integer programme, solved by HiGHS in SciPy."""

    def __init__(self, tasks: list[Task], shop: Shop) -> None:
        self.tasks, self.shop = tasks, shop
        self.costs: list[float] = []
        self.whole: list[int] = []
        self.rows: list[tuple[dict[int, float], float, float]] = []
        self.constant = 0.0

    def new(self, cost: float = 0.0, *, whole: bool = True) -> int:
        self.costs.append(cost)
        self.whole.append(int(whole))
        return len(self.costs) - 1

    def hold(self, row: dict[int, float], least: float, most: float) -> None:
        self.rows.append((row, least, most))

    def best(self) -> float:
        stands = self._places()
        washed = self._cleanings(stands)
        self._hours(stands, washed)
        self._racks(stands)
        self._lots(stands)
        matrix = lil_array((len(self.rows), len(self.costs)))
        for number, (row, _, _) in enumerate(self.rows):
            for column, weight in row.items():
                matrix[number, column] = weight
        least, most = (np.array([row[part] for row in self.rows]) for part in (1, 2))
        upper = np.where(np.array(self.whole) == 1, 1, np.inf)
        constraints = LinearConstraint(matrix.tocsr(), least, most)
        # Of two hundred weeks HiGHS calls two infeasible while it simplifies them; none is.
        for presolve in (True, False):
            found = milp(
                self.costs,
                integrality=self.whole,
                bounds=Bounds(0, upper),
                constraints=constraints,
                options={"presolve": presolve},
            )
            if found.success:
                break
        assert found.success, found.message
        return float(found.fun) + self.constant

    def _places(self) -> dict[tuple[str, int, int | None], int]:
        """One place or none; what is left out is as late as the first day of the next week."""
        stands = {}
        for task in self.tasks:
            undone = tardiness(task, None, self.shop.days)
            self.constant += undone
            row = {}
            vats = [vat.key for vat in self.shop.vats if vat.holds_g >= task.grams]
            for day in range(self.shop.days):
                for vat in vats if task.family else [None]:
                    late = tardiness(task, Place(day, vat), self.shop.days)
                    one = self.new(late - undone)
                    stands[task.key, day, vat] = one
                    row[one] = 1.0
            if row:
                self.hold(row, 0, 1)
        return stands

    def _cleanings(self, stands: dict[tuple[str, int, int | None], int]) -> dict[int, list[int]]:
        """`was` is what a kettle held last; a cleaning where it and the next do not go together."""
        washed: dict[int, list[int]] = defaultdict(list)
        for vat in self.shop.vats:
            was: dict[Family, int] | None = None
            for day in range(self.shop.days):
                made = {
                    family: [
                        stands[task.key, day, vat.key]
                        for task in self.tasks
                        if task.family == family and (task.key, day, vat.key) in stands
                    ]
                    for family in FAMILIES
                }
                every = [one for row in made.values() for one in row]
                self.hold(dict.fromkeys(every, 1.0), 0, 1) if every else None
                clean = self.new(1.0)
                washed[day].append(clean)
                self._wash(vat, was, made, clean)
                was = self._carry(vat, was, made, every)
        return washed

    def _wash(
        self, vat: Vat, was: dict[Family, int] | None, made: dict[Family, list[int]], clean: int
    ) -> None:
        for after, row in made.items():
            for before in FAMILIES:
                if not row or not needs_cleaning(before, after):
                    continue
                held = {clean: -1.0, **dict.fromkeys(row, 1.0)}
                if was is None:
                    self.hold(held, -1, 0 if vat.last == before else 1)
                else:
                    self.hold({**held, was[before]: 1.0}, -1, 1)

    def _carry(
        self,
        vat: Vat,
        was: dict[Family, int] | None,
        made: dict[Family, list[int]],
        every: list[int],
    ) -> dict[Family, int]:
        now = {family: self.new(whole=False) for family in FAMILIES}
        for family, one in now.items():
            if made[family]:
                self.hold({one: 1.0, **dict.fromkeys(made[family], -1.0)}, 0, np.inf)
            row = {one: 1.0, **dict.fromkeys(every, 1.0)}
            if was is None:
                self.hold(row, float(vat.last == family), np.inf)
            else:
                self.hold({**row, was[family]: -1.0}, 0, np.inf)
        return now

    def _hours(
        self, stands: dict[tuple[str, int, int | None], int], washed: dict[int, list[int]]
    ) -> None:
        minutes = {task.key: task.minutes for task in self.tasks}
        for day, most in enumerate(self.shop.minutes):
            row = {one: float(minutes[key]) for (key, on, _), one in stands.items() if on == day}
            row |= dict.fromkeys(washed[day], float(self.shop.cleaning_minutes))
            self.hold(row, 0, most)

    def _racks(self, stands: dict[tuple[str, int, int | None], int]) -> None:
        if self.shop.rack_g is None:
            return
        grams = {task.key: float(task.rack_g) for task in self.tasks}
        for day, most in enumerate(self.shop.rack_g):
            row = {one: grams[key] for (key, on, _), one in stands.items() if on <= day}
            self.hold(row, 0, float(most)) if row else None

    def _lots(self, stands: dict[tuple[str, int, int | None], int]) -> None:
        """Any lot that is there and good on the day; what expires in the week unused counts."""
        used: dict[int, list[int]] = defaultdict(list)
        for task in self.tasks:
            mine = [one for (key, _, _), one in stands.items() if key == task.key]
            for item, amount in task.needs.items() if mine else ():
                takes = dict.fromkeys(mine, -float(amount))
                for lot in (lot for lot in self.shop.stock if lot.item == item):
                    part = self._part(task, lot, float(amount), stands)
                    takes[part] = 1.0
                    used[lot.key].append(part)
                self.hold(takes, 0, 0)
        for lot in self.shop.stock:
            if lot.key in _expiring(self.shop):
                self.constant += float(lot.amount) / 1000
            if used[lot.key]:
                self.hold(dict.fromkeys(used[lot.key], 1.0), 0, float(lot.amount))

    def _part(
        self,
        task: Task,
        lot: Stock,
        amount: float,
        stands: dict[tuple[str, int, int | None], int],
    ) -> int:
        """What a task takes of a lot: nothing unless the lot is there and good on its day."""
        part = self.new(-0.001 if lot.good_until < self.shop.days else 0.0, whole=False)
        days = {
            one: -amount
            for (key, day, _), one in stands.items()
            if key == task.key and lot.from_day <= day <= lot.good_until
        }
        self.hold({part: 1.0, **days}, -np.inf, 0)
        return part


def test_on_two_hundred_small_weeks_little_is_better_than_the_rule() -> None:
    ratios = []
    for seed in range(200):
        tasks, shop = random_week(Random(seed))
        rule = float(plan_week(tasks, shop).score.total)
        best = Exact(tasks, shop).best()
        assert rule >= best - 1e-6, f"week {seed}: the programme misses something"
        ratios.append((rule + 1e-9) / (best + 1e-9))
    assert median(ratios) <= 1.10
    # On the mean of those with anything to gain it is not far off, either.
    assert sum(min(ratio, 3) for ratio in ratios) / len(ratios) <= 1.10


def test_the_families_of_a_row_are_cleaned_between_where_they_must_be() -> None:
    row = [batch(str(n), 0, family) for n, family in enumerate(FAMILIES)]
    # organic scented, organic plain, other scented, other plain
    assert [key for key, _ in cleanings_in(None, row)] == ["1", "3"]
