"""The rule by which a week is laid out; a person with paper and a pencil can follow it.

1. What is fixed stands. Of the rest, what weighs more comes first (what is ordered before what
   fills the stock), each in the order of its last day, packing before batches.
2. Each goes where it is in time and makes the fewest cleanings: of such places to the earliest day,
   of such kettles into the smallest that holds it. If it cannot be in time, to the earliest day.
3. What finds no place, for want of hours, a kettle, a rack or material, stays undone and says so.
4. Then two change places, one moves, or one gives way to one that was left out, as long as that
   makes the week better and breaks nothing.

It always ends with a week, if with an empty one.
"""

from collections.abc import Sequence

from workshop.rules.planning.week.better_order import improve
from workshop.rules.planning.week.tasks import Shop, Task, Week
from workshop.rules.planning.week.week_in_progress import Desk

MOST_ROUNDS = 10


def plan_week(tasks: Sequence[Task], shop: Shop) -> Week:
    """Return the week by the rule above.

    Units: days from the first of the week; g; minutes. Error: none.
    Source: earliest due date first (Jackson, 1955, from memory), then improvement by exchange,
        common practice, no source.

    >>> from decimal import Decimal
    >>> from workshop.rules.planning.week.tasks import Family, Vat
    >>> salve = Task("salve", due=1, minutes=60, grams=Decimal(900), family=Family(True, False))
    >>> plan_week([salve], Shop([480, 480], [Vat(1, Decimal(1000))])).places
    {'salve': Place(day=0, vat=1)}
    """
    desk = Desk(tasks, shop)
    for task in sorted((task for task in tasks if task.fixed is None), key=_urgency):
        desk.put(task)
    for _ in range(MOST_ROUNDS):
        if not improve(desk):
            break
    return desk.week()


def _urgency(task: Task) -> tuple[int, int, bool, bool, bool, str]:
    """By its weight and its last day; packing first, then what cleans least."""
    family = task.family
    return (
        -task.weight,
        task.due,
        family is not None,
        family is not None and not family.is_organic,
        family is not None and family.is_scented,
        task.key,
    )
