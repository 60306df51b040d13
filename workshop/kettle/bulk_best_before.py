"""How long bulk that was made here keeps by itself, and what went in without limiting that.

Its date follows from these and from the tree of lots: `ledger/inherited_best_before.py`.
"""

from datetime import date

from django.db.models import QuerySet

from workshop.kettle.models import Batch
from workshop.kettle.soap_readiness import used_up_in
from workshop.ledger.models import Lot
from workshop.materials.saponification import of_lye
from workshop.rules.dates.best_before import best_before


def own_dates(lots: QuerySet[Lot]) -> dict[int, date | None]:
    rows = lots.filter(origin__batch__isnull=False).values_list(
        "pk", "made_on", "origin__batch__version__shelf_life_months"
    )
    return {pk: best_before(made_on, months, []) for pk, made_on, months in rows}


def unbinding(lots: QuerySet[Lot]) -> dict[int, set[int]]:
    """Of a soap, what was used up in it: water, lye and the fats that are saponified."""
    weighed = Batch.objects.filter(operation__lots__in=lots)
    with_lye = weighed.filter(of_lye("operation__postings__lot__item__profile__"))
    rows = list(with_lye.distinct().select_related("operation").prefetch_related("operation__lots"))
    return {lot.pk: used_up_in(batch) for batch in rows for lot in batch.operation.lots.all()}
