"""Making a week better: two change places, one moves, one gives way to one that was left out."""

from collections.abc import Iterator, Mapping
from itertools import combinations

from workshop.rules.planning.week.limits import tardiness
from workshop.rules.planning.week.tasks import Place, Task
from workshop.rules.planning.week.week_in_progress import Desk

GAVE_WAY = "it gave way to what is more urgent"
Change = Mapping[str, Place | None]


def improve(desk: Desk) -> bool:
    """Make every change that makes the week better; whether there was one."""
    changed = False
    best = desk.score(desk.places)
    for change in _changes(desk):
        if best is None or not _may_gain(desk, change):
            continue
        places = _after(desk, change)
        found = desk.score(places)
        if found is not None and found.total < best.total:
            _make(desk, change)
            best, changed = found, True
    return changed


def _after(desk: Desk, change: Change) -> dict[str, Place]:
    places = {**desk.places}
    for key, place in change.items():
        if place is None:
            places.pop(key, None)
        else:
            places[key] = place
    return places


def _make(desk: Desk, change: Change) -> None:
    for key, place in change.items():
        if place is None:
            del desk.places[key]
            desk.undone[key] = GAVE_WAY
        else:
            desk.places[key] = place
            desk.undone.pop(key, None)


def _changes(desk: Desk) -> Iterator[Change]:
    """What could be tried, on the week as it is by then."""
    free = [key for key, task in desk.tasks.items() if task.fixed is None]
    for key in free:
        for place in list(desk.options(desk.tasks[key])):
            if place != desk.places.get(key):
                yield {key: place}
    for one, other in combinations(free, 2):
        yield from _exchanged(desk, desk.tasks[one], desk.tasks[other])


def _exchanged(desk: Desk, one: Task, other: Task) -> Iterator[Change]:
    """Two in each other's places; where one has none, it takes the place of the other."""
    here, there = desk.places.get(one.key), desk.places.get(other.key)
    if here == there or (one.family is None) != (other.family is None):
        return
    if _may_stand(desk, one, there) and _may_stand(desk, other, here):
        yield {one.key: there, other.key: here}


def _may_stand(desk: Desk, task: Task, place: Place | None) -> bool:
    if place is None:
        return True
    if task.only_day not in (None, place.day):
        return False
    return place.vat is None or desk.holds(desk.vats[place.vat], task)


def _may_gain(desk: Desk, change: Change) -> bool:
    """Whether days and cleanings alone, or what expires, could come out better."""
    days = desk.shop.days
    gain = sum(
        tardiness(desk.tasks[key], place, days)
        - tardiness(desk.tasks[key], desk.places.get(key), days)
        for key, place in change.items()
    )
    before = {desk.places[key].vat for key in change if key in desk.places}
    vats = {vat for vat in before | {p.vat for p in change.values() if p} if vat is not None}
    if vats:
        after = _after(desk, change)
        gain += sum(
            desk.cleanings_of(vat, after) - desk.cleanings_of(vat, desk.places) for vat in vats
        )
    return gain < desk.kilograms_at_stake(list(change)) or gain < 0
