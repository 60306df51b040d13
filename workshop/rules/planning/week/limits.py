"""Holding a week to its limits: hours, kettles, racks, lots; and what is not good about it."""

from collections import defaultdict
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import accumulate

from workshop.rules.planning.week.tasks import (
    Draw,
    Family,
    Place,
    Score,
    Shop,
    Stock,
    Task,
    needs_cleaning,
)

Tasks = Mapping[str, Task]
Places = Mapping[str, Place]


def in_order(tasks: Tasks, places: Places, vat: int) -> list[Task]:
    """Return the batches of a kettle as they are made: by day, on one day as they clean least.

    On one day organic goes before what is not, and unscented before scented.
    """
    here = [tasks[key] for key, place in places.items() if place.vat == vat]
    return sorted(here, key=lambda task: (places[task.key].day, *_rank(task), task.due, task.key))


def _rank(task: Task) -> tuple[bool, bool]:
    family = task.family or Family(is_organic=True, is_scented=False)
    return not family.is_organic, family.is_scented


def cleanings(tasks: Tasks, places: Places, shop: Shop) -> dict[str, Family]:
    """Return the batches that need a cleaning before them, with what was in the kettle before."""
    found: dict[str, Family] = {}
    for vat in shop.vats:
        found.update(cleanings_in(vat.last, in_order(tasks, places, vat.key)))
    return found


def cleanings_in(last: Family | None, row: Iterable[Task]) -> Iterator[tuple[str, Family]]:
    """Yield the same for the batches of one kettle."""
    for task in row:
        if task.family is None:
            continue
        if last is not None and needs_cleaning(last, task.family):
            yield task.key, last
        last = task.family


def lateness(task: Task, place: Place | None, days: int) -> int:
    """Return by how many days a task is late; what stays undone waits for the next week's first."""
    return max((place.day if place else days) - task.due, 0)


def tardiness(task: Task, place: Place | None, days: int) -> int:
    """Return the same, by the weight of the task."""
    return task.weight * lateness(task, place, days)


def minutes_taken(tasks: Tasks, places: Places, shop: Shop) -> list[int]:
    """Return the minutes of work of each day, with the cleanings."""
    taken = [0] * shop.days
    for key, place in places.items():
        taken[place.day] += tasks[key].minutes
    if shop.cleaning_minutes:
        for key in cleanings(tasks, places, shop):
            taken[places[key].day] += shop.cleaning_minutes
    return taken


def draw_all(
    tasks: Tasks, places: Places, stock: Sequence[Stock], items: Container[int] | None = None
) -> tuple[list[Draw], dict[int, Decimal]] | None:
    """Return what each task takes of which lot and what is left; None where something is short.

    Day by day; of the lots that are there and good on the day the one that expires first. With
    `items` only these are looked at.
    """
    left = {lot.key: lot.amount for lot in stock}
    by_item: dict[int, list[Stock]] = defaultdict(list)
    for lot in sorted(stock, key=lambda each: (each.good_until, each.from_day, each.key)):
        by_item[lot.item].append(lot)
    draws: list[Draw] = []
    for key in sorted(places, key=lambda one: (places[one].day, tasks[one].due, one)):
        for item, amount in tasks[key].needs.items():
            if items is not None and item not in items:
                continue
            taken = _draw(key, amount, by_item[item], places[key].day, left)
            if taken is None:
                return None
            draws += taken
    return draws, left


def _draw(
    key: str, amount: Decimal, lots: list[Stock], day: int, left: dict[int, Decimal]
) -> list[Draw] | None:
    draws = []
    for lot in lots:
        if amount <= 0:
            break
        if lot.from_day <= day <= lot.good_until and left[lot.key] > 0:
            take = min(amount, left[lot.key])
            left[lot.key] -= take
            amount -= take
            draws.append(Draw(key, lot.key, take))
    return draws if amount <= 0 else None


def rack_taken(tasks: Tasks, places: Places, days: int) -> list[Decimal]:
    """Return what was put onto the racks up to each day: soap stays there beyond the week."""
    put = [Decimal(0)] * days
    for key, place in places.items():
        put[place.day] += tasks[key].rack_g
    return list(accumulate(put))


def is_within(taken: Iterable[Decimal | int], most: Iterable[Decimal | int]) -> bool:
    """Whether on no day more is taken than there is."""
    return all(one <= room for one, room in zip(taken, most, strict=True))


def score(tasks: Tasks, places: Places, shop: Shop, left: Mapping[int, Decimal]) -> Score:
    """Return what is not good about these places, once `left` of each lot stays unused."""
    late = sum(tardiness(task, places.get(key), shop.days) for key, task in tasks.items())
    expiring = (left[lot.key] for lot in shop.stock if lot.good_until < shop.days)
    waste = sum(expiring, Decimal(0))
    return Score(len(cleanings(tasks, places, shop)), late, waste / 1000)
