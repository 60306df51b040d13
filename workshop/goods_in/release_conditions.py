"""What a release of a lot needs that was received: a reason, where it was not found good."""

from django.urls import reverse

from workshop.core.errors import ActionRefused
from workshop.goods_in.models import ReceiptLine
from workshop.ledger.models import Lot, OperationKind
from workshop.ledger.release_conditions import LotRules, Release, nothing_of_its_own


def _refuse_release(lot: Lot, release: Release) -> None:
    """What was not found good on arrival is used only for a reason."""
    line = ReceiptLine.objects.filter(lot=lot).first()
    if line is not None and line.not_good and not release.reason.strip():
        raise ActionRefused(
            "It did not conform on arrival: say why it may be used.", field="reason"
        )


def _release_page(lot: Lot) -> str | None:
    """Where its checks stand; a lot of no receipt line has no such page."""
    if not ReceiptLine.objects.filter(lot=lot).exists():
        return None
    return reverse("goods_in:release", args=[lot.code])


LOT_RULES = (
    LotRules(
        kind=OperationKind.RECEIPT,
        refuse_release=_refuse_release,
        release_page=_release_page,
        own_dates=nothing_of_its_own,
    ),
)
