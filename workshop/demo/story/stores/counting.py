"""Where things stand, and two rounds of counting: one that is over, one under way today.

What is drawn here is drawn apart, so that the rest of the story stays as it is.
"""

from datetime import datetime, timedelta
from decimal import Decimal
from random import Random

from workshop.core.models import User
from workshop.core.signature import Confirmed
from workshop.counts import services
from workshop.counts.models import CountRound
from workshop.counts.rounds import state_of
from workshop.demo.story.clock import Clock
from workshop.demo.story.story_state import Book
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, Lot, Place, PlaceKind, Unit
from workshop.rules.stock.counting import Verdict

SCENTS, DRUMS, BUTTERS = "Scent cupboard", "Drums by the wall", "Butters and waxes"
PACKAGING, MELTS, FINISHED = "Packaging shelves", "Melts waiting", "Finished goods"
PLACES = {
    SCENTS: PlaceKind.CUPBOARD,
    DRUMS: PlaceKind.FLOOR,
    BUTTERS: PlaceKind.SHELF,
    PACKAGING: PlaceKind.SHELF,
    MELTS: PlaceKind.SHELF,
    FINISHED: PlaceKind.SHELF,
}
BY_KIND = {ItemKind.PACKAGING: PACKAGING, ItemKind.BULK: MELTS, ItemKind.PRODUCT: FINISHED}
BY_CODE = {"EO": SCENTS, "CRY": SCENTS, "OIL": DRUMS}
FIRST_ROUND, TODAYS_ROUND = "first round", "today's round"
A_LOT = timedelta(minutes=2)  # what counting one takes
SHORT = Decimal("0.88")
REASON = "Drips and what stays in the dropper, never written off."


def enter_places(book: Book, clock: Clock) -> None:
    for number, (name, kind) in enumerate(PLACES.items()):
        draw = Random(f"place {number}").randrange  # noqa: S311  not for secrets
        ledger.save_place(name=name, kind=kind, by=book.owner, at=clock.now, draw=draw)


def put_away(book: Book, clock: Clock) -> None:
    """In the evening whatever has no place yet is put where its kind stands."""
    places = {place.name: place for place in Place.objects.all()}
    lots: dict[str, list[Lot]] = {}
    for lot in Lot.objects.filter(placings=None).select_related("item").order_by("pk"):
        lots.setdefault(_where(lot), []).append(lot)
    for name, there in lots.items():
        ledger.put_in_place(
            there,
            places[name],
            by=book.packer,
            at=clock.now,
            token=f"{name} {book.day.isoformat()}",
        )


def _where(lot: Lot) -> str:
    kind = ItemKind(lot.item.kind)
    return BY_KIND.get(kind) or BY_CODE.get(lot.item.code.split("-")[0], BUTTERS)


def count_the_scents(book: Book, clock: Clock) -> None:
    """The first round: a bottle is short, a second count agrees, the owner sets the book right."""
    if not book.may_happen("count round", Decimal("0.6")):
        return
    services.reckon_classes(by=book.owner, at=clock.now, token=f"classes, {FIRST_ROUND}")
    found = _begin(book, clock, SCENTS, token=FIRST_ROUND)
    if found is None:
        return
    lines = state_of(found).lines
    short = lines[len(lines) // 2].row.lot
    tamsin = book.people["tamsin"]
    for number, line in enumerate(lines):
        at = found.begun_at + (number + 1) * A_LOT
        _count(found, line.row.lot, book.packer, at, is_short=line.row.lot == short)
    over = found.begun_at + (len(lines) + 1) * A_LOT
    _count(found, short, tamsin, over, is_short=True)
    differing = state_of(found).differing
    services.end_round(
        found,
        {line.row.pk: REASON for line in differing},
        confirmed=Confirmed(book.owner.pk),
        by=book.owner,
        at=over + A_LOT,
        token=f"end, {FIRST_ROUND}",
    )
    book.note("count round", f"round {found} found lot {short} of {short.item} short")


def begin_today_s_round(book: Book, clock: Clock) -> None:
    """The second round, under way: half is counted, one lot waits for somebody else's count."""
    found = _begin(book, clock, FINISHED, token=TODAYS_ROUND)
    if found is None:
        return
    lines = state_of(found).lines
    for number, line in enumerate(lines[: max(len(lines) // 2, 1)]):
        at = found.begun_at + (number + 1) * A_LOT
        _count(found, line.row.lot, book.packer, at, is_short=line is lines[0])
    again = [line for line in state_of(found).lines if line.verdict is Verdict.AGAIN]
    if again:
        lot = again[0].row.lot
        book.note("count under way", f"round {found} asks for a second count of lot {lot}")


def _begin(book: Book, clock: Clock, name: str, *, token: str) -> CountRound | None:
    place = Place.objects.get(name=name)
    choice = services.Choice(place=place)
    if not services.chosen_lots(choice, clock.now).exists():
        return None
    return services.begin_round(choice, by=book.owner, at=clock.now, token=token)


def _count(found: CountRound, lot: Lot, by: User, at: datetime, *, is_short: bool) -> None:
    held = ledger.on_hand(lot)
    places = 0 if lot.item.unit == Unit.EACH else 1
    counted = round(held * SHORT, places) if is_short else held
    services.record_count(
        found,
        lot,
        max(counted, Decimal(0)),
        by=by,
        at=at,
        token=f"{found} {lot.code} {by.username}",
    )
