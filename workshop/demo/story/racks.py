"""The racks: soap is put there, one bar of each lot is weighed on Fridays, and it is tested."""

from decimal import Decimal
from fractions import Fraction
from random import Random

from workshop.curing import services as curing
from workshop.curing.models import CureTestKind, Rack, WeighedAs
from workshop.curing.release_readiness import cure_of
from workshop.demo.story.clock import Clock
from workshop.demo.story.story_state import Bar, Book
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, ShedKind, Status

PLACES = ("Rack by the window", "Rack by the door")
TRAYS = 24
CURED_BAR_G = Decimal("111.2")  # a little above what the label says
HUNDREDTH = Decimal("0.01")


def enter_racks(book: Book, clock: Clock) -> None:
    for name in PLACES:
        draw = Random(name).randrange  # noqa: S311  not for secrets
        curing.save_rack(name=name, by=book.owner, at=clock.after(1, 2), draw=draw)


def put_on_rack(book: Book, clock: Clock, lot: Lot, grams: Decimal) -> None:
    """Each lot has a loss of its own; bars are cut so as to hold their net weight in the end."""
    loss = Decimal(book.random.randint(80, 98)) / 1000
    bar = Bar(lot, book.day, (CURED_BAR_G / (1 - loss)).quantize(HUNDREDTH), loss)
    racks = list(Rack.objects.order_by("pk"))
    first = book.random.randint(1, TRAYS - 2)
    rack, by, at = book.random.choice(racks), book.maker(), clock.after(3, 6)
    bars = int(grams / bar.fresh_g)
    end_g = grams - bars * bar.fresh_g
    if end_g:
        ledger.shed_in_store(
            lot,
            ShedKind.TRIMMED,
            end_g,
            by=by,
            at=at,
            token=f"end of {lot}",
            reason="The end of the block, too thin for a bar.",
        )
    place = f"trays {first} to {first + 2}"
    curing.put_on_rack(lot, rack, place=place, bars=bars, by=by, at=at, token=book.token())
    book.bars_left[lot.pk] = bars
    book.bars.append(bar)
    _weigh(book, clock, [bar])


def weigh_round(book: Book, clock: Clock) -> None:
    """On Fridays one bar of each lot that is not released yet."""
    lots = Lot.objects.in_bulk([bar.lot.pk for bar in book.bars])
    waits = (Status.QUARANTINE, Status.ON_HOLD)
    book.bars = [bar for bar in book.bars if lots[bar.lot.pk].status in waits]
    due = [bar for bar in book.bars if bar.since < book.day]
    if due:
        _weigh(book, clock, due)
        book.note("on the rack", f"lot {due[0].lot} was weighed on its rack week by week")


def _weigh(book: Book, clock: Clock, bars: list[Bar]) -> None:
    rows = [curing.RoundRow(bar.lot, WeighedAs.BAR, bar.weighs(book.day)) for bar in bars]
    curing.weigh_round(rows, by=book.maker(), at=clock.after(4, 9), token=book.token())


def is_at_rest(lot: Lot) -> bool:
    """Whether its last week cost no more than the formula allows."""
    cure = cure_of(lot)
    most = cure.version.weekly_loss_most if cure else None
    if cure is None or most is None:
        return True
    return cure.week_loss is not None and cure.week_loss * 100 <= Fraction(most)


def run_tests(book: Book, clock: Clock, lot: Lot) -> None:
    """Both tests that the formula asks for, well within its limits."""
    found = {
        CureTestKind.PH: (Decimal(book.random.randint(92, 99)) / 10, "pH meter, 1 % solution"),
        CureTestKind.FREE_ALKALI: (Decimal(book.random.randint(8, 34)) / 1000, "ISO 456, ethanol"),
    }
    for kind, (value, method) in found.items():
        curing.add_test(
            lot,
            kind,
            value,
            method=method,
            by=book.maker(),
            at=clock.after(4, 9),
            token=book.token(),
        )
