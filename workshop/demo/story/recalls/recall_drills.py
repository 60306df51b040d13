"""Two recall drills: how quickly every tin of a lot is found, and whether it is."""

from collections import Counter
from datetime import timedelta
from decimal import Decimal

from workshop.aftersales.models import Recall, RecallEntryKind
from workshop.aftersales.recalls.scope import RecallScope, scope_of
from workshop.aftersales.services import recalls
from workshop.demo.story.clock import Clock
from workshop.demo.story.story_state import Book
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot

DRILLS = (("drill", "0.3"), ("second drill", "0.82"))
IN_USE_SINCE = timedelta(days=60)


def hold_drills(book: Book, clock: Clock) -> None:
    for what, after in DRILLS:
        if book.may_happen(what, Decimal(after)):
            _drill(book, clock, what)


def _drill(book: Book, clock: Clock, what: str) -> None:
    """The first is slow and two units short; by the second everybody knows where to look."""
    is_first = what == DRILLS[0][0]
    lot = _finished_lot(book) if is_first else _oil_lot(book)
    if lot is None:
        return
    drill = recalls.start(
        lot,
        reason="Drill: a suspected lot, chosen by the owner",
        is_drill=True,
        by=book.owner,
        at=clock.after(5, 9),
        token=book.token(),
    )
    reach = scope_of(drill, on=book.day)
    found = {line.lot.pk: line.on_hand for line in reach.in_house}
    if not is_first:
        _look_through_lists(book, clock, drill, reach)
    short = min(Decimal(2), found.get(lot.pk, Decimal(0))) if is_first else Decimal(0)
    if short:
        found[lot.pk] -= short
    at = clock.after(14, 17) if is_first else clock.after(4, 6)
    recalls.close(drill, found=found, by=book.owner, at=at, token=book.token())
    if short:
        _mend(book, clock, drill, lot, found[lot.pk])
    book.note(what, _told(drill, lot, reach, short))


def _look_through_lists(book: Book, clock: Clock, drill: Recall, reach: RecallScope) -> None:
    """The first drill showed that a name which stands for many is nobody to write to."""
    for buyer in reach.buyers:
        if buyer.is_many and buyer.still_out:
            recalls.talk(
                drill,
                buyer.customer,
                RecallEntryKind.LISTED,
                means="",
                words="The orders of these weeks, each with a name and an address.",
                buyers_units=buyer.still_out,
                by=book.packer,
                at=clock.after(1, 2),
                token=book.token(),
            )


def _mend(book: Book, clock: Clock, drill: Recall, lot: Lot, counted: Decimal) -> None:
    """What the drill found missing is counted once more, and the book put right."""
    ledger.count_lot(
        lot,
        counted,
        by=book.packer,
        at=clock.after(5, 9),
        reason=f"Drill {drill}: two fewer than in the book, given to a fair as testers.",
        token=book.token(),
    )


def _told(drill: Recall, lot: Lot, reach: RecallScope, short: Decimal) -> str:
    gap = f", {short:.0f} units not found" if short else ", every unit found"
    return f"{drill} of lot {lot}: {reach.said}{gap}"


def _finished_lot(book: Book) -> Lot | None:
    """A lot of tins of which some were sent and some are on the shelf."""
    shelf = set(Lot.objects.available(on=book.day).values_list("pk", flat=True))
    often = Counter(one.lot for one in book.sent if one.lot.pk in shelf)
    return max(often, key=lambda lot: (often[lot], lot.pk), default=None)


def _oil_lot(book: Book) -> Lot | None:
    """A lot of oil that went into much of what is on the shelf."""
    oils = Lot.objects.filter(item__code__startswith="OIL", made_on__lt=book.day - IN_USE_SINCE)
    return oils.select_related("item").order_by("-pk").first()
