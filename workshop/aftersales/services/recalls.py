"""What can happen in a recall or a drill: started, held, customers told, closed."""

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from workshop.aftersales.models import (
    RECALL_LETTER,
    WITH_CUSTOMER,
    Complaint,
    Depth,
    Hazard,
    Level,
    Recall,
    RecallEntry,
    RecallEntryKind,
    RecallLine,
)
from workshop.aftersales.recalls.consignees import TELLS_OF_BUYERS, Consignee
from workshop.aftersales.recalls.open_issues import gaps_of
from workshop.aftersales.recalls.scope import RecallScope, missing_from, scope_of
from workshop.aftersales.services.recall_log import ACT, lock_open_recall, write_entry
from workshop.aftersales.services.recall_shelves import ask_about_far_off
from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.core.saving.locks import advisory_lock
from workshop.core.saving.with_history import save_with_history
from workshop.dispatch.models import Customer
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Status
from workshop.ledger.services import next_reference

LONGEST_REASON = 300
NOTHING = Decimal(0)


@transaction.atomic
def start(
    lot: Lot,
    *,
    reason: str,
    hazard: str = Hazard.NOT_YET,
    depth: str = Depth.RETAIL,
    level: str = Level.A,
    remedy: str = "",
    complaint: Complaint | None = None,
    is_drill: bool = False,
    by: User,
    at: datetime,
    token: str,
) -> Recall:
    """Begin a recall of a lot and put every lot made from it that is in the house on hold.

    A drill is the same and holds nothing. The same token again answers with the recall already
    begun.
    """
    check_idempotency(
        token, ACT, entry=RecallEntryKind.STARTED, lot=lot, reason=reason, hazard=hazard,
        depth=depth, level=level, remedy=remedy, complaint=complaint, drill=is_drill,
    )  # fmt: skip
    known = Recall.objects.filter(token=token).first()
    if known:
        return known
    if not reason.strip():
        raise ActionRefused("Say why it is recalled.", field="reason")
    advisory_lock(f"recall of {lot.pk}")
    _refuse_second(lot, is_drill=is_drill)
    recall = Recall(
        lot=lot,
        complaint=complaint,
        reason=reason.strip(),
        hazard=hazard,
        depth=depth,
        level=level,
        remedy=remedy.strip(),
        notice_on=timezone.localdate(at),
        is_drill=is_drill,
        reference=next_reference(RECALL_LETTER, timezone.localdate(at)),
        token=token,
        started_at=at,
        started_by=by,
    )
    save_with_history(recall, by=by, at=at)
    write_entry(recall, RecallEntryKind.STARTED, recall.reason, by=by, at=at, token=token)
    if not is_drill:
        _hold(recall, by=by, at=at, token=f"{token[:50]} held")
    return recall


def _refuse_second(lot: Lot, *, is_drill: bool) -> None:
    running = Recall.objects.filter(lot=lot, is_drill=False, closed_at=None).first()
    if running and not is_drill:
        raise ActionRefused(f"Recall {running} of lot {lot} is open already.", field="lot")


@transaction.atomic
def hold(recall: Recall, *, by: User, at: datetime, token: str) -> list[Lot]:
    """Put on hold what has come into being, or was released, since the recall began."""
    check_idempotency(token, ACT, entry=RecallEntryKind.HELD, recall=recall)
    locked = lock_open_recall(recall, token)
    if locked is None:
        return []
    if locked.is_drill:
        raise ActionRefused("A drill puts nothing on hold.")
    return _hold(locked, by=by, at=at, token=token)


def _hold(recall: Recall, *, by: User, at: datetime, token: str) -> list[Lot]:
    lots = sorted(
        scope_of(recall, on=timezone.localdate(at)).lots_to_quarantine, key=lambda lot: lot.pk
    )
    why = f"Recall {recall}: {recall.reason}"[:LONGEST_REASON]
    for lot in lots:
        ledger.set_lot_status(lot, Status.ON_HOLD, by=by, at=at, reason=why)
    if lots:
        words = ", ".join(str(lot) for lot in lots)
        write_entry(recall, RecallEntryKind.HELD, words, by=by, at=at, token=token)
    return lots


@transaction.atomic
def note(recall: Recall, words: str, *, by: User, at: datetime, token: str) -> None:
    """Add to the log what belongs to no customer."""
    check_idempotency(token, ACT, entry=RecallEntryKind.NOTED, recall=recall, words=words)
    locked = lock_open_recall(recall, token)
    if locked is None:
        return
    if not words.strip():
        raise ActionRefused("Say what happened.", field="words")
    write_entry(locked, RecallEntryKind.NOTED, words.strip(), by=by, at=at, token=token)


@transaction.atomic
def talk(
    recall: Recall,
    customer: Customer,
    what: str,
    *,
    means: str,
    spoke_with: str = "",
    words: str = "",
    will_return: Decimal = NOTHING,
    destroyed: Decimal = NOTHING,
    sold_on: Decimal = NOTHING,
    buyers_units: Decimal = NOTHING,
    by: User,
    at: datetime,
    token: str,
) -> None:
    """Log that a customer was told, could not be reached, or answered and what they said.

    Of a customer who stands for many buyers, `buyers_units` says of how many units the buyers
    were notified so far or, in a drill, found on the list. Units that come back are not written
    here but as a return of their dispatch.
    """
    check_idempotency(
        token, ACT, entry=what, recall=recall, customer=customer, means=means,
        spoke_with=spoke_with, words=words, will_return=will_return, destroyed=destroyed,
        sold_on=sold_on, buyers_units=buyers_units,
    )  # fmt: skip
    locked = lock_open_recall(recall, token)
    if locked is None:
        return
    if what not in WITH_CUSTOMER:
        raise ActionRefused("Say whether they were told, not reached, or answered.", field="what")
    if not words.strip():
        raise ActionRefused("Write down what was said, or how it was tried.", field="words")
    buyers = {
        buyer.customer.pk: buyer for buyer in scope_of(locked, on=timezone.localdate(at)).buyers
    }
    if customer.pk not in buyers:
        raise ActionRefused(f"{customer} was sent none of these lots.")
    said = will_return + destroyed + sold_on
    if said and what != RecallEntryKind.ANSWERED:
        raise ActionRefused("Units are told by an answer. Choose “answered”.", field="what")
    still_out = buyers[customer.pk].still_out
    if said > still_out:
        raise ActionRefused(
            f"Only {still_out:.0f} units are still with {customer}; together these are {said:.0f}.",
            field="will_return",
        )
    _validate_buyers(buyers[customer.pk], what, buyers_units, is_drill=locked.is_drill)
    RecallEntry.objects.create(
        recall=locked,
        customer=customer,
        buyers_units=buyers_units,
        what=what,
        means=means,
        spoke_with=spoke_with.strip(),
        words=words.strip(),
        will_return=will_return,
        destroyed=destroyed,
        sold_on=sold_on,
        at=at,
        by=by,
        token=token,
    )


def _validate_buyers(buyer: Consignee, what: str, units: Decimal, *, is_drill: bool) -> None:
    if what == RecallEntryKind.LISTED and not (is_drill and buyer.is_many):
        raise ActionRefused(
            "Only in a drill, and of who stands for many buyers, is a list looked through.",
            field="what",
        )
    if not units:
        return
    if not buyer.is_many:
        raise ActionRefused(
            f"{buyer.customer} does not stand for many buyers.", field="buyers_units"
        )
    if what not in TELLS_OF_BUYERS:
        raise ActionRefused("Nobody was reached, so no buyers either.", field="buyers_units")
    if units > buyer.still_out:
        raise ActionRefused(
            f"Only {buyer.still_out:.0f} units are still with buyers of {buyer.customer}.",
            field="buyers_units",
        )


@transaction.atomic
def close(
    recall: Recall,
    *,
    cause: str = "",
    found: Mapping[int, Decimal],
    sure: str | None = None,
    by: User,
    at: datetime,
    token: str,
) -> Recall:
    """Close with the account of every lot, and with the gaps that are left.

    `found` says by lot what was found on the shelf; where nobody looked, the book's figure
    stands and the report says so. The lots stay on hold: what becomes of each is decided lot by
    lot. What is far from the book is asked for once more: `sure` is what the form was sent back
    with, and None where nobody sits at a form who could look again.
    """
    check_idempotency(
        token, ACT, entry=RecallEntryKind.CLOSED, recall=recall, cause=cause, found=found
    )
    locked = lock_open_recall(recall, token)
    if locked is None:
        return Recall.objects.get(pk=recall.pk)
    if not cause.strip() and not locked.is_drill:
        raise ActionRefused("Name the cause and what is done about it.", field="cause")
    if at < locked.started_at:
        raise ActionRefused("It cannot end before it began. Check the clock of this machine.")
    reach = scope_of(locked, on=timezone.localdate(at))
    _count(reach, found)
    if sure is not None:
        ask_about_far_off(reach.lines, sure)
    for line in reach.lines:
        line.recall = locked
    RecallLine.objects.bulk_create(reach.lines)
    locked.units_out, locked.units_reached = reach.units_out, reach.units_reached
    locked.units_unreachable = reach.unreachable
    locked.gaps = "\n".join(gaps_of(locked, reach))
    locked.cause, locked.closed_at, locked.closed_by = cause.strip(), at, by
    kept = save_with_history(locked, by=by, at=at)
    write_entry(kept, RecallEntryKind.CLOSED, kept.cause, by=by, at=at, token=token)
    return kept


def _count(reach: RecallScope, found: Mapping[int, Decimal]) -> None:
    for line in reach.lines:
        line.found = found.get(line.lot.pk)
        line.missing = missing_from(line)
