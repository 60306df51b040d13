"""What the kettle adds to the ledger's rules for the bulk that it makes."""

from datetime import date

from django.db.models import QuerySet
from django.urls import reverse

from workshop.core.errors import Refused
from workshop.kettle.models import Batch
from workshop.ledger.lot_rules import LotRules, Release, refuse_unsettled_inputs
from workshop.ledger.models import Act, Lot
from workshop.rules.dates import best_before


def _refuse_release(lot: Lot, release: Release) -> None:
    """A bulk is released by its signature, and never before what went into it."""
    if not Batch.objects.filter(operation=lot.origin_id).exists():
        return
    if not release.is_signed:
        raise Refused(
            f"Lot {lot} is released with its batch {lot.origin}, signed with your password.",
            field="password",
        )
    refuse_unsettled_inputs(lot.origin)


def _release_page(lot: Lot) -> str:
    return reverse("kettle:release", args=[lot.origin.reference])


def _own_dates(lots: QuerySet[Lot]) -> dict[int, date | None]:
    rows = lots.filter(origin__batch__isnull=False).values_list(
        "pk", "made_on", "origin__batch__version__shelf_life_months"
    )
    return {pk: best_before(made_on, months, []) for pk, made_on, months in rows}


LOT_RULES = LotRules(
    kind=Act.BATCH,
    refuse_release=_refuse_release,
    release_page=_release_page,
    own_dates=_own_dates,
)
