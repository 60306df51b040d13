"""What an owner decides about a lot that its approved label is untrue of."""

from datetime import datetime

from django.db import transaction
from django.utils import timezone

from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.labels.approval.print_status import LabelStatus, discrepancies, label_status
from workshop.labels.models import Decision, DecisionKind, LabelVersion
from workshop.labels.services.versions import approve, draft_from_lot
from workshop.ledger.models import Lot
from workshop.packing import services as packing


@transaction.atomic
def decide(
    lot: Lot,
    kind: str,
    *,
    by: User,
    at: datetime,
    reason: str,
    token: str,
    market: str | None = None,
) -> Decision:
    """Mend the label, relabel with a sticker, or hold the lot; the same token answers as before.

    Mending makes and approves a new version from the lot. Raises ActionRefused unless an owner
    decides, with a reason, about a label that is untrue, or when a sticker would not mend it.
    """
    check_idempotency(token, "label decision", lot=lot, kind=kind, reason=reason, market=market)
    known = Decision.objects.filter(token=token).first()
    if known is not None:
        return known
    if by.role != Role.OWNER:
        raise ActionRefused("Only an owner decides about a label that does not match its lot.")
    if not reason.strip():
        raise ActionRefused("Say why.", field="reason")
    lot = Lot.objects.select_for_update(of=("self",)).select_related("item").get(pk=lot.pk)
    standing = label_status(lot, market, on=timezone.localdate(at))
    version = _untrue_version(standing)
    _refuse_useless_sticker(standing, kind)
    if kind == DecisionKind.MEND:
        _mend(standing, by=by, at=at, reason=reason)
    if kind == DecisionKind.HOLD:
        packing.hold(lot, by=by, at=at, reason=reason)
    return Decision.objects.create(
        lot=lot,
        version=version,
        kind=kind,
        sentences=[one.sentence for one in standing.untrue],
        reason=reason.strip(),
        at=at,
        by=by,
        token=token,
    )


def _untrue_version(standing: LabelStatus) -> LabelVersion:
    if standing.version is None or not standing.untrue:
        lot = standing.computed.lot
        raise ActionRefused(f"The approved label matches lot {lot}; there is nothing to decide.")
    return standing.version


def _refuse_useless_sticker(standing: LabelStatus, kind: str) -> None:
    if kind == DecisionKind.RELABEL and not standing.may_be_relabelled:
        others = [one.sentence for one in standing.untrue if not one.is_in_the_list]
        raise ActionRefused(
            f"A sticker with the new ingredient list does not correct this: {' '.join(others)} "
            "Make a new version or hold the lot.",
            field="kind",
        )


def _mend(standing: LabelStatus, *, by: User, at: datetime, reason: str) -> None:
    computed = standing.computed
    if computed.stops:
        raise ActionRefused(
            f"A new version would not be printed either. {' '.join(computed.stops)}"
        )
    version = draft_from_lot(computed.lot, computed.market, by=by, at=at)
    still = discrepancies(computed, version)
    if still:
        raise ActionRefused(
            "A new version would not match either: change what the product's labels say, or hold "
            f"the lot. {' '.join(one.sentence for one in still)}",
            field="kind",
        )
    approve(version, by=by, at=at, reason=reason)
