"""One recall, from the first call to the last tin."""

from datetime import timedelta
from decimal import ROUND_HALF_UP, Decimal

from django.utils import timezone

from workshop.aftersales.models import (
    Channel,
    Complaint,
    Depth,
    Hazard,
    Level,
    Means,
    Nature,
    Recall,
    RecallEntryKind,
    Severity,
)
from workshop.aftersales.recalls.consignees import Consignee
from workshop.aftersales.recalls.scope import scope_of
from workshop.aftersales.services import complaints, recalls
from workshop.demo.story.clock import Clock
from workshop.demo.story.story_state import Book, Sent
from workshop.dispatch import services as dispatch
from workshop.dispatch.dispatch_lines import lines_of
from workshop.dispatch.models import Customer, Dispatch
from workshop.ledger import services as ledger
from workshop.ledger.lot_tree import descendants, links_back
from workshop.ledger.models import ItemKind, Lot, OperationKind
from workshop.packing.stock.retained import retained_of

RECALLED_AFTER = Decimal("0.55")
FEWEST_CUSTOMERS, MOST_CUSTOMERS = 3, 9
LONGEST_IN_A_SHOP = timedelta(days=30)
ANSWERED_AFTER, CLOSED_AFTER = timedelta(days=2), timedelta(days=7)
FOUND = "A hard, clear splinter, half a centimetre long. Nobody is hurt."
REMEDY = "The price of each unit is credited; we pay the postage"
REASON = "Splinters of hard plastic may be in it; they can scratch the skin"
CAUSE = (
    "The rim of a measuring jug had chipped into one batch. The jug is thrown away; jugs are "
    "looked over before each batch, and only steel ones go near the kettle."
)
TOLD = "Told what was found; asked to take these lots off the shelf. Letter follows."
TOLD_BUYERS = "Everybody whose order held one of these lots is written to, from the list of orders."
ANSWERS = (
    "Shelves looked through; what is left goes back to you today.",
    "Half had been sold; a notice hangs by the till.",
    "The rest is packed up and with the carrier.",
)


def look_after(book: Book, clock: Clock) -> None:
    """Whatever of the recall is due today."""
    if book.recall is not None:
        _go_on(book, clock, book.recall)
    elif book.may_happen("recall", RECALLED_AFTER):
        _begin(book, clock)


def _begin(book: Book, clock: Clock) -> None:
    """A customer finds a splinter: the batch is recalled, everybody is told the same day."""
    found = _batch_to_recall(book)
    if found is None:
        return
    sent, bulk = found
    complaint = _complaint(book, clock, sent)
    book.recall = recalls.start(
        bulk,
        reason=REASON,
        hazard=Hazard.CLASS_2,
        depth=Depth.RETAIL,
        level=Level.A,
        remedy=REMEDY,
        complaint=complaint,
        by=book.owner,
        at=clock.after(4, 8),
        token=book.token(),
    )
    _forget_affected(book, bulk)
    for buyer in scope_of(book.recall, on=book.day).buyers:
        recalls.talk(
            book.recall,
            buyer.customer,
            RecallEntryKind.TOLD,
            means=Means.EMAIL if buyer.is_many else Means.TELEPHONE,
            spoke_with=buyer.customer.contact,
            words=TOLD_BUYERS if buyer.is_many else TOLD,
            buyers_units=buyer.still_out if buyer.is_many else Decimal(0),
            by=book.packer,
            at=clock.after(2, 5),
            token=book.token(),
        )
    book.note("recall", f"{book.recall} of bulk lot {bulk}, after complaint {complaint}")


def _batch_to_recall(book: Book) -> tuple[Sent, Lot] | None:
    """A batch packed and sent not long ago, to a handful of customers."""
    for sent in reversed(book.sent):
        if sent.dispatch.sent_on < book.day - LONGEST_IN_A_SHOP:
            return None
        links = links_back([sent.lot.pk])
        filled = [link.source_id for link in links if link.operation_id == sent.lot.origin_id]
        bulk = Lot.objects.filter(pk__in=filled, item__kind=ItemKind.BULK).first()
        if bulk and FEWEST_CUSTOMERS <= _customers_of(bulk) <= MOST_CUSTOMERS:
            return sent, bulk
    return None


def _customers_of(bulk: Lot) -> int:
    reached = descendants([bulk.pk])
    return (
        Customer.objects.filter(dispatches__operation__postings__lot__in=reached).distinct().count()
    )


def _complaint(book: Book, clock: Clock, sent: Sent) -> Complaint:
    complaint = complaints.log(
        Complaint(
            channel=Channel.TELEPHONE,
            customer=sent.dispatch.customer,
            received_on=book.day,
            code_read=sent.lot.shown_code,
            nature=Nature.FOREIGN,
            severity=Severity.MAJOR,
            description=FOUND,
        ),
        lots=[sent.lot],
        by=book.packer,
        at=clock.after(3, 6),
        token=book.token(),
    )
    complaints.assess(
        complaint,
        "The batch record names a chipped jug. More of it may have splinters: recall.",
        severity=Severity.CRITICAL,
        outcome="",
        lots=[sent.lot],
        by=book.owner,
        at=clock.after(5, 9),
        token=book.token(),
    )
    return complaint


def _forget_affected(book: Book, bulk: Lot) -> None:
    """What is recalled is neither released by habit nor sent back for another reason."""
    affected = descendants([bulk.pk])
    book.packed = [(on, lot) for on, lot in book.packed if lot.pk not in affected]
    book.came_back = [(on, lot) for on, lot in book.came_back if lot.pk not in affected]
    book.sent = [one for one in book.sent if one.lot.pk not in affected]


def _go_on(book: Book, clock: Clock, recall: Recall) -> None:
    began = timezone.localdate(recall.started_at)
    if book.day >= began + CLOSED_AFTER:
        _end(book, clock, recall)
    elif book.day >= began + ANSWERED_AFTER:
        silent = [buyer for buyer in scope_of(recall, on=book.day).buyers if not buyer.answer]
        for number, buyer in enumerate(silent):
            _answer(book, clock, recall, buyer, number)


def _answer(book: Book, clock: Clock, recall: Recall, buyer: Consignee, number: int) -> None:
    """About two thirds come back, a few were thrown away there, the rest was sold on."""
    coming = (buyer.still_out * 2 / 3).to_integral_value(ROUND_HALF_UP)
    destroyed = min(buyer.still_out - coming, Decimal(number % 2))
    recalls.talk(
        recall,
        buyer.customer,
        RecallEntryKind.ANSWERED,
        means=Means.EMAIL if number % 3 else Means.TELEPHONE,
        spoke_with=buyer.customer.contact,
        words=ANSWERS[number % len(ANSWERS)],
        will_return=coming,
        destroyed=destroyed,
        sold_on=buyer.still_out - coming - destroyed,
        by=book.packer,
        at=clock.after(2, 4),
        token=book.token(),
    )
    _take_back(book, clock, recall, buyer, coming)


def _take_back(book: Book, clock: Clock, recall: Recall, buyer: Consignee, units: Decimal) -> None:
    lots = {part.lot.pk for part in buyer.parts}
    sent = Dispatch.objects.filter(
        customer=buyer.customer,
        operation__kind=OperationKind.DISPATCH,
        operation__postings__lot__in=lots,
    )
    for one in sent.distinct().order_by("pk"):
        lines = []
        for line in lines_of(one):
            taken = min(units, line.still_out) if line.lot.pk in lots else Decimal(0)
            units -= taken
            lines += [(line.lot, taken)] if taken else []
        if lines:
            dispatch.record_return(
                one,
                lines,
                returned_on=book.day,
                reason=f"Recall {recall}: {REASON}",
                by=book.packer,
                at=clock.after(3, 6),
                token=book.token(),
            )


def _end(book: Book, clock: Clock, recall: Recall) -> None:
    """Write off what is in the house but the samples, look at the shelf, close."""
    for line in scope_of(recall, on=book.day).in_house:
        units = line.on_hand - retained_of(line.lot)
        if units > 0:
            ledger.discard(
                line.lot,
                units,
                by=book.owner,
                at=clock.after(3, 6),
                reason=f"Recall {recall}: set apart and taken to the tip under our eyes.",
                token=book.token(),
            )
    left = {line.lot.pk: line.on_hand for line in scope_of(recall, on=book.day).in_house}
    at, token = clock.after(5, 9), book.token()
    closed = recalls.close(recall, cause=CAUSE, found=left, by=book.owner, at=at, token=token)
    complaint = recall.complaint
    if complaint is not None:
        complaints.answer(
            complaint,
            "Thanked, told of the recall, a box of other salves sent.",
            by=book.owner,
            at=clock.after(3, 5),
            token=book.token(),
        )
        at, token = clock.after(1, 2), book.token()
        complaints.close(complaint, CAUSE, by=book.owner, at=at, token=token)
    book.recall = None if closed.is_closed else recall
