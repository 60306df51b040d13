"""What a release of bulk needs that was made here: its signature, and all that went into it."""

from functools import partial

from django.urls import reverse

from workshop.core.errors import ActionRefused
from workshop.kettle.bulk_best_before import own_dates, unbinding
from workshop.kettle.models import Batch
from workshop.kettle.soap_readiness import is_rebatched, why_unsafe
from workshop.ledger.models import Lot, OperationKind
from workshop.ledger.release_conditions import LotRules, Release, refuse_unsettled_inputs


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


LOT_RULES = (
    LotRules(
        kind=OperationKind.BATCH,
        refuse_release=_refuse_release,
        release_page=_release_page,
        own_dates=own_dates,
        unbinding=unbinding,
    ),
)
