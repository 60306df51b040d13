"""What packing adds to the ledger's rules for the finished lots that it makes."""

from datetime import date

from django.db.models import QuerySet
from django.urls import reverse

from workshop.core.errors import ActionRefused
from workshop.ledger.lot_rules import LotRules, Release, refuse_unsettled_inputs
from workshop.ledger.models import Lot, OperationKind, Status
from workshop.packing.fill_control.figures import check_of
from workshop.packing.models import PackingRun
from workshop.rules.dates.trade_dates import best_before


def _refuse_release(lot: Lot, release: Release) -> None:
    """What went in must still be good; a doubt about the fill takes a reason."""
    run = PackingRun.objects.filter(operation=lot.origin_id).first()
    if run is None:
        return
    refuse_unsettled_inputs(lot.origin)
    concerns = check_of(run).concerns
    if concerns and not release.reason.strip():
        raise ActionRefused(
            f"{' '.join(concerns)} Say why the lot may go out all the same.", field="reason"
        )


def _release_page(lot: Lot) -> str:
    return reverse("packing:run", args=[lot.origin.reference])


def _own_dates(lots: QuerySet[Lot]) -> dict[int, date | None]:
    rows = lots.filter(origin__packing_run__isnull=False).values_list(
        "pk", "made_on", "origin__packing_run__shelf_life_months"
    )
    return {pk: best_before(made_on, months, []) for pk, made_on, months in rows}


def _refuse_unpacked(lot: Lot, release: Release) -> None:
    """Nobody need decide about units that are not there any more; what was stopped is stopped."""
    del release
    refuse_unsettled_inputs(lot.origin, may_wait=lambda one: one.status == Status.QUARANTINE)


def _keeps_as_packed(lots: QuerySet[Lot]) -> dict[int, date | None]:
    """What was unpacked keeps as long as the units did, and no longer."""
    return dict.fromkeys(lots.values_list("pk", flat=True))


LOT_RULES = (
    LotRules(
        kind=OperationKind.PACKING,
        refuse_release=_refuse_release,
        release_page=_release_page,
        own_dates=_own_dates,
    ),
    LotRules(
        kind=OperationKind.UNPACKING,
        refuse_release=_refuse_unpacked,
        release_page=lambda lot: None,
        own_dates=_keeps_as_packed,
    ),
)
