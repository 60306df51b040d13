"""The best-before date of a finished lot: its shelf life, or an earlier date of what went in.

Later it follows from the tree, ledger/inherited_best_before.py, which asks here for its own limit.
"""

from collections.abc import Iterable
from datetime import date

from django.db.models import QuerySet

from workshop.ledger.models import Lot
from workshop.packing.models import PackingRun
from workshop.rules.dates.best_before import best_before


def best_before_of(run: PackingRun, made_on: date, consumed: Iterable[Lot]) -> date | None:
    """The earliest of the day of packing + shelf life and the dates of all lots used."""
    return best_before(made_on, run.shelf_life_months, [lot.best_before for lot in consumed])


def own_dates(lots: QuerySet[Lot]) -> dict[int, date | None]:
    rows = lots.filter(origin__packing_run__isnull=False).values_list(
        "pk", "made_on", "origin__packing_run__shelf_life_months"
    )
    return {pk: best_before(made_on, months, []) for pk, made_on, months in rows}


def keeps_as_packed(lots: QuerySet[Lot]) -> dict[int, date | None]:
    """What was unpacked keeps as long as the units did, and no longer."""
    return dict.fromkeys(lots.values_list("pk", flat=True))
