"""What can happen at dispatch: a customer is entered, units go out, units come back."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from workshop.core.errors import ActionRefused
from workshop.core.formatting import day as shown_day
from workshop.core.formatting import number
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.core.saving.with_history import save_with_history
from workshop.dispatch.dispatch_lines import lines_of
from workshop.dispatch.models import Customer, Dispatch, Return
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, Lot, Operation, OperationKind, Side, Status
from workshop.packing.stock.retained import retained_of, sellable

Lines = Sequence[tuple[Lot, Decimal]]
LONGEST_REASON = 300


class RefusedLine(ActionRefused):
    """One lot of several cannot go; `lot` says which."""

    def __init__(self, lot: Lot, sentence: str, *, field: str) -> None:
        super().__init__(sentence, field=field)
        self.lot = lot


@transaction.atomic
def save_customer(customer: Customer, *, by: User, at: datetime) -> Customer:
    """Enter or change a customer; the history says who did and when."""
    return save_with_history(customer, by=by, at=at)


@transaction.atomic
def dispatch(
    customer: Customer,
    lines: Lines,
    *,
    sent_on: date,
    customer_reference: str = "",
    note: str = "",
    by: User,
    at: datetime,
    token: str,
) -> Dispatch:
    """Send units of finished lots to a customer: all of them, or none.

    Only released lots within their date go, and never more than is on hand. The record is closed
    and sealed at once; what was sent by mistake comes back by `take_back`. The same token again
    answers with the dispatch already made.
    """
    check_idempotency(
        token,
        "dispatch",
        customer=customer,
        lots=lines,
        sent_on=sent_on,
        customer_reference=customer_reference,
        note=note,
    )
    operation = ledger.open_operation(OperationKind.DISPATCH, by=by, at=at, token=token)
    known = Dispatch.objects.filter(operation=operation).first()
    if known:
        return known
    if not customer.is_active:
        raise ActionRefused(f"{customer} is no longer supplied.", field="customer")
    if sent_on > timezone.localdate(at):
        raise ActionRefused("That date is in the future.", field="sent_on")
    for lot, units in _locked(lines):
        _refuse_unfit(lot, sent_on)
        _take_out(operation, lot, units, by=by, at=at)
    sent = Dispatch.objects.create(
        operation=operation,
        customer=customer,
        customer_reference=customer_reference.strip(),
        sent_on=sent_on,
        note=note.strip(),
    )
    return seal_dispatch(sent, by=by, at=at)


def seal_dispatch(sent: Dispatch, *, by: User, at: datetime) -> Dispatch:
    """Close the dispatch with all that it says now, for the first time or after an amendment."""
    ledger.close_operation(sent.operation, by=by, at=at)
    return sent


def _locked(lines: Lines) -> list[tuple[Lot, Decimal]]:
    """The lines with their lots locked, always in the same order, so that two cannot deadlock."""
    if not lines:
        raise ActionRefused("Enter at least one lot.")
    units_of = _units_by_lot(lines)
    lots = Lot.objects.select_for_update(of=("self",)).select_related("item").order_by("pk")
    return [(lot, units_of[lot.pk]) for lot in lots.filter(pk__in=units_of)]


def _units_by_lot(lines: Iterable[tuple[Lot, Decimal]]) -> dict[int, Decimal]:
    units_of: dict[int, Decimal] = {}
    for lot, units in lines:
        if lot.pk in units_of:
            raise RefusedLine(
                lot, f"Lot {lot} stands in two rows; put its units into one.", field="lot"
            )
        units_of[lot.pk] = units
    return units_of


def _refuse_unfit(lot: Lot, sent_on: date) -> None:
    if lot.item.kind != ItemKind.PRODUCT:
        raise RefusedLine(lot, f"Lot {lot} is {lot.item}, not a finished product.", field="lot")
    if lot.status != Status.RELEASED:
        word = lot.get_status_display()
        raise RefusedLine(
            lot, f"Lot {lot} is not released ({word}); only released lots go out.", field="lot"
        )
    if lot.best_before is not None and lot.best_before < sent_on:
        raise RefusedLine(
            lot, f"Lot {lot} was best before {shown_day(lot.best_before)}.", field="lot"
        )
    if lot.made_on > sent_on:
        raise RefusedLine(
            lot,
            f"Lot {lot} was packed on {shown_day(lot.made_on)}, after the day of sending.",
            field="lot",
        )


def _take_out(operation: Operation, lot: Lot, units: Decimal, *, by: User, at: datetime) -> None:
    kept = retained_of(lot)
    if kept and units > sellable(lot):
        raise RefusedLine(
            lot,
            f"Of lot {lot} {number(sellable(lot))} are for sale;"
            f" {number(kept)} are retained as samples.",
            field="units",
        )
    try:
        ledger.withdraw(operation, lot, units, by=by, at=at)
    except ActionRefused as error:
        raise RefusedLine(lot, error.message, field="units") from error


@transaction.atomic
def record_return(
    dispatch: Dispatch,
    lines: Lines,
    *,
    returned_on: date,
    reason: str,
    by: User,
    at: datetime,
    token: str,
) -> Return:
    """Units of one dispatch come back into the lots they left.

    Never more of a lot than that dispatch sent and has not had back. A released lot is put on
    hold, whole: what a customer saw in one tin may be in all of them, so somebody looks before
    more of it goes out. The record is closed and sealed at once.
    """
    check_idempotency(
        token, "return", dispatch=dispatch, lots=lines, returned_on=returned_on, reason=reason
    )
    operation = ledger.open_operation(OperationKind.RETURN, by=by, at=at, token=token)
    known = Return.objects.filter(operation=operation).first()
    if known:
        return known
    reason = reason.strip()
    _validate_return(dispatch, returned_on, reason, at)
    locked = _locked(lines)
    still_out = {line.lot.pk: line.still_out for line in lines_of(dispatch)}
    returned = Return.objects.create(
        operation=operation, dispatch=dispatch, returned_on=returned_on, reason=reason
    )
    for lot, units in locked:
        _put_back(returned, lot, units, still_out.get(lot.pk, Decimal(0)), by=by, at=at)
    ledger.close_operation(operation, by=by, at=at)
    return returned


def _validate_return(dispatch: Dispatch, returned_on: date, reason: str, at: datetime) -> None:
    if dispatch.taken_back_id:
        raise ActionRefused(
            f"{dispatch} was taken back: it never left, so nothing of it comes back."
        )
    if not reason:
        raise ActionRefused("Say why it came back.", field="reason")
    if returned_on > timezone.localdate(at):
        raise ActionRefused("That date is in the future.", field="returned_on")
    if returned_on < dispatch.sent_on:
        raise ActionRefused(
            f"It was sent on {shown_day(dispatch.sent_on)}, so it came back later than this.",
            field="returned_on",
        )


def _put_back(
    returned: Return, lot: Lot, units: Decimal, still_out: Decimal, *, by: User, at: datetime
) -> None:
    if units > still_out:
        raise RefusedLine(
            lot,
            f"Of lot {lot} only {number(still_out)} of {returned.dispatch} are still out.",
            field="units",
        )
    try:
        ledger.post(returned.operation, lot, Side.OUT, units, by=by, at=at)
    except ActionRefused as error:
        raise RefusedLine(lot, error.message, field="units") from error
    if lot.status == Status.RELEASED:
        why = f"Came back from {returned.dispatch.customer} ({returned}): {returned.reason}"
        ledger.set_lot_status(lot, Status.ON_HOLD, by=by, at=at, reason=why[:LONGEST_REASON])
