"""What the kettle adds to the ledger's rules for the bulk that it makes."""

from datetime import date
from functools import partial

from django.db.models import QuerySet
from django.urls import reverse

from workshop.core.errors import ActionRefused
from workshop.kettle.models import Batch
from workshop.kettle.soap_readiness import is_rebatched, used_up_in, why_unsafe
from workshop.ledger.lot_rules import LotRules, Release, refuse_unsettled_inputs
from workshop.ledger.models import Lot, OperationKind
from workshop.materials.saponification import of_lye
from workshop.rules.dates.best_before import best_before


def _refuse_release(lot: Lot, release: Release) -> None:
    """A bulk is released by its signature, and never before what went into it."""
    batch = Batch.objects.filter(operation=lot.origin_id).select_related("version").first()
    if batch is None:
        return
    if not release.is_signed:
        raise ActionRefused(
            f"Lot {lot} is released with its batch {lot.origin}, signed with your password.",
            field="password",
        )
    refuse_unsettled_inputs(lot.origin, may_wait=partial(is_rebatched, batch.version))
    unsafe = why_unsafe(lot)
    if unsafe:
        raise ActionRefused(unsafe)


def _release_page(lot: Lot) -> str:
    return reverse("kettle:release", args=[lot.origin.reference])


def _own_dates(lots: QuerySet[Lot]) -> dict[int, date | None]:
    rows = lots.filter(origin__batch__isnull=False).values_list(
        "pk", "made_on", "origin__batch__version__shelf_life_months"
    )
    return {pk: best_before(made_on, months, []) for pk, made_on, months in rows}


def _unbinding(lots: QuerySet[Lot]) -> dict[int, set[int]]:
    """Of a soap, what was used up in it: water, lye and the fats that are saponified."""
    weighed = Batch.objects.filter(operation__lots__in=lots)
    with_lye = weighed.filter(of_lye("operation__postings__lot__item__profile__"))
    rows = list(with_lye.distinct().select_related("operation").prefetch_related("operation__lots"))
    return {lot.pk: used_up_in(batch) for batch in rows for lot in batch.operation.lots.all()}


LOT_RULES = (
    LotRules(
        kind=OperationKind.BATCH,
        refuse_release=_refuse_release,
        release_page=_release_page,
        own_dates=_own_dates,
        unbinding=_unbinding,
    ),
)
