"""What a release of a finished lot needs: what went in still good, no doubt about its fill."""

from django.urls import reverse

from workshop.core.errors import ActionRefused
from workshop.ledger.models import Lot, OperationKind, Status
from workshop.ledger.release_conditions import LotRules, Release, refuse_unsettled_inputs
from workshop.packing.best_before import keeps_as_packed, own_dates
from workshop.packing.fill_control.figures import check_of
from workshop.packing.models import PackingRun


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


def _refuse_unpacked(lot: Lot, release: Release) -> None:
    """Nobody need decide about units that are not there any more; what was stopped is stopped."""
    del release
    refuse_unsettled_inputs(lot.origin, may_wait=lambda one: one.status == Status.QUARANTINE)


LOT_RULES = (
    LotRules(
        kind=OperationKind.PACKING,
        refuse_release=_refuse_release,
        release_page=_release_page,
        own_dates=own_dates,
    ),
    LotRules(
        kind=OperationKind.UNPACKING,
        refuse_release=_refuse_unpacked,
        release_page=lambda lot: None,
        own_dates=keeps_as_packed,
    ),
)
