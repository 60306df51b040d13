"""What can happen to organic status: certificates are stopped, lots judged, suppliers reviewed."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from workshop.core import formatting
from workshop.core.errors import ActionRefused
from workshop.core.files.uploads import CheckedFile, store_upload
from workshop.core.models import Role, User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.goods_in.models import (
    Certificate,
    CertificateStop,
    OrganicDecision,
    StopKind,
    Supplier,
    SupplierReview,
)
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Status
from workshop.materials.models import LABEL_SCHEME


@transaction.atomic
def stop_certificate(
    certificate: Certificate,
    kind: StopKind,
    *,
    from_day: date,
    lots: Sequence[Lot] = (),
    reason: str,
    by: User,
    at: datetime,
    token: str,
) -> CertificateStop:
    """Record that a certificate is suspended, revoked or reinstated from a day, and hold lots.

    Nothing new comes in under it from that day; what came before stays what it was, and lots are
    held until an owner has decided about each. Raises ActionRefused without a reason or an owner.
    """
    content = {"kind": str(kind), "from_day": from_day, "lots": lots, "reason": reason}
    if check_idempotency(token, "certificate stopped", certificate=certificate, **content):
        return CertificateStop.objects.get(token=token)
    _refuse_without_owner(by, reason)
    if from_day > timezone.localdate(at):
        raise ActionRefused(
            f"{formatting.day(from_day)} is in the future. Record it on the day.", field="from_day"
        )
    for lot in lots if kind != StopKind.REINSTATED else ():
        if lot.status in (Status.QUARANTINE, Status.RELEASED):
            words = f"{certificate} {kind.label} from {formatting.day(from_day)}. {reason.strip()}"
            ledger.set_lot_status(lot, Status.ON_HOLD, by=by, at=at, reason=words[:300])
    return CertificateStop.objects.create(
        certificate=certificate, kind=kind, from_day=from_day, reason=reason.strip(),
        held=[str(lot) for lot in lots if kind != StopKind.REINSTATED], by=by, at=at, token=token,
    )  # fmt: skip


def _refuse_without_owner(by: User, reason: str) -> None:
    if by.role != Role.OWNER:
        raise ActionRefused("Only an owner decides that.")
    if not reason.strip():
        raise ActionRefused("Say why, and where it is known from.", field="reason")


@transaction.atomic
def decide_organic(
    lot: Lot,
    *,
    is_organic: bool,
    certificate: Certificate | None = None,
    scheme: str = LABEL_SCHEME,
    reason: str,
    by: User,
    at: datetime,
    token: str,
) -> OrganicDecision:
    """Say that a bought lot is organic, or is not, whatever it was received as.

    Raises ActionRefused, with its field, for a lot that was not bought, without a reason or an
    owner, and for an organic lot without a certificate that covered it on the day it came in.
    """
    content = {"is_organic": is_organic, "certificate": certificate, "reason": reason}
    if check_idempotency(token, "organic decision", lot=lot, **content):
        return OrganicDecision.objects.get(token=token)
    _refuse_without_owner(by, reason)
    line = getattr(lot, "receipt_line", None)
    if line is None:
        raise ActionRefused("A lot made here is what went into it; decide about that.")
    if is_organic:
        _refuse_uncovered(lot, certificate)
    return OrganicDecision.objects.create(
        lot=lot, scheme=scheme, is_organic=is_organic, reason=reason.strip(),
        certificate=certificate if is_organic else None, by=by, at=at, token=token,
    )  # fmt: skip


def _refuse_uncovered(lot: Lot, certificate: Certificate | None) -> None:
    line = lot.receipt_line
    received = line.receipt.received_on
    if (
        certificate is None
        or certificate.supplier_id != line.receipt.supplier_id
        or not certificate.is_valid_on(received)
        or not certificate.items.filter(pk=lot.item_id).exists()
    ):
        raise ActionRefused(
            f"Choose a certificate of {line.receipt.supplier} that covers {lot.item} and was valid "
            f"on {formatting.day(received)}, when the lot came in.",
            field="certificate",
        )


@transaction.atomic
def review_supplier(
    supplier: Supplier,
    values: Mapping[str, Any],
    *,
    answers: Mapping[str, Mapping[str, Any]],
    document: CheckedFile | None = None,
    by: User,
    at: datetime,
    token: str,
) -> SupplierReview:
    """Approve a supplier, or not, on the answers given; `values` are verdict, reason, next_review.

    Raises ActionRefused without a reason or an owner, and for a review that is due already.
    """
    if check_idempotency(token, "supplier reviewed", supplier=supplier, answers=answers, **values):
        return SupplierReview.objects.get(token=token)
    _refuse_without_owner(by, values["reason"])
    if values["next_review"] <= timezone.localdate(at):
        raise ActionRefused("Give a date in the future.", field="next_review")
    return SupplierReview.objects.create(
        supplier=supplier, **values, answers={key: dict(one) for key, one in answers.items()},
        document=store_upload(document, by=by, at=at) if document else None,
        by=by, at=at, token=token,
    )  # fmt: skip
