"""Dispatch: what goes out, arrives and comes back."""

from collections import defaultdict
from datetime import datetime, time, timedelta
from decimal import Decimal

from django.utils import timezone

from workshop.core.models import USUAL_DAYS_ON_THE_WAY
from workshop.demo.story.clock import Clock
from workshop.demo.story.story_state import Book, Sent
from workshop.dispatch import services as dispatch
from workshop.dispatch.models import Dispatch
from workshop.dispatch.services.delivery_confirmation import confirm_delivery, reverse_confirmation
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot
from workshop.packing.stock.retained import for_sale, sellable_of
from workshop.rules.quantities.first_expired import LotOnOffer, draw_lots

RETURNS = (
    ("return", "0.25", "Lids dented in the post."),
    ("second return", "0.45", "Sent to the wrong branch; came back unopened."),
    ("third return", "0.62", "Customer closed for the season; sealed carton came back."),
)
WEEKS_BACK = timedelta(days=90)
# The carrier's word is in by this time of the day; of one dispatch in so many nobody ever hears.
WORD_IS_IN = time(16, 40)
NEVER_HEARD_OF = 17
WRONGLY_TICKED = 23  # one in so many is ticked by mistake, and that is taken back


class Shelf:
    """Finished lots that may go today, and what is left of each in the course of the day."""

    def __init__(self, book: Book) -> None:
        lots = for_sale(on=book.day)
        free = sellable_of(lots)
        self.lots: dict[int, list[Lot]] = defaultdict(list)
        self.left: dict[int, Decimal] = {}
        for lot in lots.select_related("item"):
            self.lots[lot.item_id].append(lot)
            self.left[lot.pk] = free[lot.pk]

    def stock(self, item: int) -> Decimal:
        return sum((self.left[lot.pk] for lot in self.lots[item]), Decimal(0))

    def take(self, item: int, units: Decimal) -> list[tuple[Lot, Decimal]]:
        by_pk = {lot.pk: lot for lot in self.lots[item]}
        on_offer = [LotOnOffer(pk, self.left[pk], lot.best_before) for pk, lot in by_pk.items()]
        drawn, _ = draw_lots(units, on_offer)
        for pk, taken in drawn:
            self.left[pk] -= taken
        return [(by_pk[pk], taken) for pk, taken in drawn]


def send_the_day(book: Book, clock: Clock, count: int) -> None:
    _hear_of_arrivals(book)
    shelf = Shelf(book)
    for _ in range(count):
        _send(book, clock, shelf)


def _hear_of_arrivals(book: Book) -> None:
    """A dispatch travels for one to four days, by its number: chance is kept for the story."""
    since = book.day - timedelta(days=USUAL_DAYS_ON_THE_WAY)
    travelling = Dispatch.objects.without_word(on=book.day).filter(sent_on__gt=since)
    there = [
        one
        for one in travelling.select_related("operation")
        if _number(one) % NEVER_HEARD_OF and (book.day - one.sent_on).days > _number(one) % 4
    ]
    if there:
        at = timezone.make_aware(datetime.combine(book.day, WORD_IS_IN))
        for word in confirm_delivery(there, arrived_on=book.day, by=book.packer, at=at):
            if word.sequence == 0 and _number(word.dispatch) % WRONGLY_TICKED == 0:
                later = at + timedelta(minutes=20)
                reverse_confirmation(
                    word, by=book.packer, at=later, reason="Wrong line ticked, it is on its way yet"
                )


def _number(one: Dispatch) -> int:
    """Its running number in its month, which the story gives it and no database."""
    return int(one.operation.reference.rpartition("-")[2])


def _send(book: Book, clock: Clock, shelf: Shelf) -> None:
    lines = [line for item in _wanted(book, shelf) for line in _line(book, shelf, item)]
    if not lines:
        return
    customer = book.random.choice(book.customers)
    sent = dispatch.dispatch(
        customer,
        lines,
        sent_on=book.day,
        customer_reference=f"PO {book.random.randint(1000, 9999)}" if book.chance(2) else "",
        by=book.packer,
        at=clock.after(6, 14),
        token=book.token(),
    )
    book.sent += [Sent(sent, lot, units) for lot, units in lines]


def _wanted(book: Book, shelf: Shelf) -> list[int]:
    """One to three products, sooner those of which there is much."""
    items = [item for item in shelf.lots if shelf.stock(item) > 0]
    weights = [int(shelf.stock(item)) for item in items]
    count = book.random.choice((1, 1, 1, 2, 2, 3))
    chosen = book.random.choices(items, weights, k=count) if items else []
    return list(dict.fromkeys(chosen))


def _line(book: Book, shelf: Shelf, item: int) -> list[tuple[Lot, Decimal]]:
    stock = shelf.stock(item)
    units = stock * book.random.randint(5, 26) / 100
    pack = Decimal(6 if units > 8 else 3)
    return shelf.take(item, min(stock, max(pack, round(units / pack) * pack)))


def take_returns(book: Book, clock: Clock) -> None:
    """What comes back today, besides complaints."""
    _forget_old(book)
    for what, after, reason in RETURNS:
        if not book.may_happen(what, Decimal(after)):
            continue
        old = book.day - timedelta(days=6)
        sent = next((one for one in reversed(book.sent) if one.dispatch.sent_on <= old), None)
        if sent is None:
            return
        units = min(sent.units, Decimal(2))
        _take_back(book, clock, sent, units, reason)
        book.came_back.append((book.in_days(1, 3), sent.lot))
        book.note(what, f"{int(units)} of lot {sent.lot} came back from {sent.dispatch.customer}")
        if "dented" in reason:
            ledger.discard(
                sent.lot,
                units,
                by=book.packer,
                at=clock.after(2, 4),
                reason="Dented in the post.",
                token=book.token(),
            )


def _forget_old(book: Book) -> None:
    since = book.day - WEEKS_BACK
    book.sent = [one for one in book.sent if one.dispatch.sent_on >= since]


def _take_back(book: Book, clock: Clock, sent: Sent, units: Decimal, reason: str) -> None:
    book.sent.remove(sent)  # nobody sends the same tins back twice
    dispatch.record_return(
        sent.dispatch,
        [(sent.lot, units)],
        returned_on=book.day,
        reason=reason,
        by=book.packer,
        at=clock.after(4, 8),
        token=book.token(),
    )
