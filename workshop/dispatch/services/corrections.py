"""Put a dispatch right: take it back whole before it left, or correct what was written down."""

from datetime import datetime

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.dispatch.models import Customer, DeliveryConfirmation, Dispatch
from workshop.dispatch.services import seal_dispatch
from workshop.ledger import services as ledger
from workshop.ledger.services import Fact, InTheWay


@transaction.atomic
def undo(
    dispatch: Dispatch, *, by: User, at: datetime, reason: str, token: str | None = None
) -> Dispatch:
    """Take a dispatch back whole: it never left, and its units are on the shelf again.

    The same token again answers as before. Raises ActionRefused unless an owner does it with a
    reason, and InTheWay, with nothing written, once it arrived or units of it came back.
    """
    if check_idempotency(token, "dispatch taken back", dispatch=dispatch, reason=reason):
        return dispatch
    row = _locked(dispatch)
    if in_the_way := obstacle(row):
        raise in_the_way
    amendment = ledger.begin_amendment(row.operation, by=by, at=at, reason=reason)
    sent = row.operation.postings.effective().order_by("pk")
    ledger.reverse_all(list(sent), by=by, at=at, reason=reason)
    row.taken_back = amendment
    row.save(update_fields=["taken_back"])
    return seal_dispatch(row, by=by, at=at)


@transaction.atomic
def correct(
    dispatch: Dispatch,
    *,
    customer: Customer,
    customer_reference: str,
    note: str,
    by: User,
    at: datetime,
    reason: str,
    token: str | None = None,
) -> Dispatch:
    """Correct the reference, the note, or a wrong customer while nothing was confirmed.

    What they were stays to be read. Raises ActionRefused unless an owner does it with a reason.
    """
    content = {"customer": customer, "customer_reference": customer_reference, "note": note}
    if check_idempotency(token, "dispatch corrected", dispatch=dispatch, reason=reason, **content):
        return dispatch
    row = _locked(dispatch)
    if customer.pk != row.customer_id:
        _refuse_other_customer(row, customer)
    amendment = ledger.begin_amendment(row.operation, by=by, at=at, reason=reason)
    ledger.note_facts(
        amendment,
        [
            Fact("customer", row.customer.name, customer.name),
            Fact("their reference", row.customer_reference, customer_reference.strip()),
            Fact("note", row.note, note.strip()),
        ],
    )
    row.customer, row.customer_reference = customer, customer_reference.strip()
    row.note = note.strip()
    row.save(update_fields=["customer", "customer_reference", "note"])
    return seal_dispatch(row, by=by, at=at)


def obstacle(dispatch: Dispatch) -> InTheWay | None:
    """What stands in the way of taking it back, or None."""
    confirmed = confirmed_by(dispatch)
    if not confirmed:
        return None
    returns = dispatch.returns.order_by("pk").values_list("operation__reference", flat=True)
    return InTheWay(
        f"{dispatch} cannot be taken back: {confirmed}.", list(returns) or [str(dispatch)]
    )


def confirmed_by(dispatch: Dispatch) -> str:
    """What says that it really went, in words; nothing if nobody has confirmed it."""
    word = DeliveryConfirmation.objects.effective().filter(dispatch=dispatch).first()
    if word:
        return "it is noted that it arrived; take that note back first"
    returned = dispatch.returns.select_related("operation").first()
    return f"units of it came back as {returned}" if returned else ""


def _locked(dispatch: Dispatch) -> Dispatch:
    rows = Dispatch.objects.select_for_update(of=("self",)).select_related("operation", "customer")
    row = rows.get(pk=dispatch.pk)
    if row.taken_back_id:
        raise ActionRefused(f"{row} was taken back; there is nothing more to correct.")
    return row


def _refuse_other_customer(dispatch: Dispatch, customer: Customer) -> None:
    if confirmed := confirmed_by(dispatch):
        raise ActionRefused(f"It went to {dispatch.customer}: {confirmed}.", field="customer")
    if not customer.is_active:
        raise ActionRefused(f"{customer} is no longer supplied.", field="customer")
