"""The owner's desk: what is released, held, rejected, counted and thrown away."""

from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.signature import Confirmed
from workshop.demo.story import racks
from workshop.demo.story.clock import Clock
from workshop.demo.story.opening import write_draft
from workshop.demo.story.story_state import Book
from workshop.demo.tables.recipes import BY_CODE
from workshop.formulas import services as formulas
from workshop.formulas.models import Version
from workshop.goods_in import services as goods_in
from workshop.kettle import services as kettle
from workshop.kettle.models import Batch, CheckKind
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, Lot, Status
from workshop.packing import services as packing

EMPTY_BELOW_G, LEFT_BELOW_G, ENOUGH_TO_COUNT_G = Decimal(5), Decimal(120), Decimal(100)


def judge_arrivals(book: Book, clock: Clock) -> None:
    for lot in book.due(book.arrived):
        at = clock.after(0.5, 1.5)
        if lot in book.rejected:
            reason = "Rancid on arrival; the supplier takes it back."
            goods_in.reject_lot(lot, by=book.owner, at=at, reason=reason)
        elif book.may_happen("raw lot on hold", Decimal("0.96")) and lot.item.code[:3] == "OIL":
            reason = "Certificate of analysis still missing; asked the supplier for it."
            goods_in.hold_lot(lot, by=book.owner, at=at, reason=reason)
            book.note("raw lot on hold", f"lot {lot} of {lot.item} waits for its analysis")
        else:
            goods_in.release_lot(lot, by=book.owner, at=at)


def judge_batches(book: Book, clock: Clock) -> None:
    """Release and close what was poured the day before; soap waits for its cure."""
    waiting, book.poured = book.poured, []
    for batch in waiting:
        if BY_CODE[batch.version.formula.item.code].cure_days:
            continue
        _release_batch(book, batch, at=clock.after(2, 4))
        kettle.close_batch(batch, by=book.owner, at=clock.after(0.5, 1))
        _amend_once(book, clock, batch)


def _release_batch(book: Book, batch: Batch, *, at: datetime, note: str = "") -> None:
    kettle.release_batch(batch, by=book.owner, at=at, note=note, confirmed=Confirmed(book.owner.pk))


def _amend_once(book: Book, clock: Clock, batch: Batch) -> None:
    if not book.may_happen("amended record", Decimal("0.4")):
        return
    reason = "The spoon test was done but not written down."
    kettle.amend_batch(batch, by=book.owner, at=clock.after(1, 2), reason=reason)
    note = "Entered later from the paper slip: set in three minutes, spread well."
    at = clock.after(0.5, 1)
    kettle.add_check(batch, CheckKind.SPOON, note=note, by=book.owner, at=at, token=book.token())
    at = clock.after(0.5, 1)
    _release_batch(book, batch, at=at, note="The slip was looked through; the bulk is good.")
    kettle.close_batch(batch, by=book.owner, at=at)
    book.note("amended record", f"{batch} was closed, opened again for a forgotten note, closed")


def judge_cured_soap(book: Book, clock: Clock) -> None:
    """After six weeks on the rack a soap is tested and released; one that still dries waits."""
    for batch in book.due(book.curing):
        if not all(map(racks.is_at_rest, batch.operation.lots.all())):
            book.curing.append((book.day + timedelta(days=7), batch))
            continue
        for lot in batch.operation.lots.select_related("item", "origin"):
            racks.run_tests(book, clock, lot)
        _release_batch(book, batch, at=clock.after(1, 2), note="Cured six weeks.")
        kettle.close_batch(batch, by=book.owner, at=clock.after(0.5, 1))


def judge_packed(book: Book, clock: Clock) -> None:
    for lot in book.due(book.packed):
        _release_packed(book, clock, lot)


def _release_packed(book: Book, clock: Clock, lot: Lot) -> None:
    """Release a finished lot; where its fill stands out, with a word about it."""
    at = clock.after(0.5, 2)
    try:
        packing.release(lot, by=book.owner, at=at)
    except ActionRefused:
        reason = "Fill looked at again with the packer; the lot may go out."
        packing.release(lot, by=book.owner, at=at, reason=reason)


def judge_returned(book: Book, clock: Clock) -> None:
    """Look at what came back; the rest of the lot was found good."""
    for lot in book.due(book.came_back):
        lot.refresh_from_db()
        if lot.status == Status.ON_HOLD:
            _release_packed(book, clock, lot)


def tidy_on_friday(book: Book, clock: Clock) -> None:
    """Book off what is scraped out of drums and pots, and what is past its date."""
    for lot in _stocked(ItemKind.MATERIAL, ItemKind.BULK):
        if lot.best_before and lot.best_before < book.day - timedelta(days=14):
            at = clock.after(1, 2)
            _throw_away(book, lot, "Past its date.", at=at, by=book.owner)
        elif _is_dregs(book, lot):
            if lot.item.kind == ItemKind.MATERIAL:
                _count(book, clock, lot, Decimal(0), "Drum empty, scraped out.")
            else:
                reason = "Too little to pack, thrown out."
                _throw_away(book, lot, reason, at=clock.after(2, 5), by=book.packer)


def _stocked(*kinds: ItemKind) -> list[Lot]:
    lots = Lot.objects.in_stock().filter(item__kind__in=kinds)
    return [lot for lot in lots.select_related("item").order_by("pk") if lot.on_hand > 0]


def _is_dregs(book: Book, lot: Lot) -> bool:
    """What no scale or nobody cares for; what may be melted in again waits two months for that."""
    if lot.item.kind == ItemKind.MATERIAL:
        return lot.on_hand < EMPTY_BELOW_G
    waits = 5 if BY_CODE[lot.item.code].rework == "0" else 60
    return lot.on_hand < LEFT_BELOW_G and lot.made_on < book.day - timedelta(days=waits)


def _throw_away(book: Book, lot: Lot, reason: str, *, by: User, at: datetime) -> None:
    ledger.discard(lot, lot.on_hand, by=by, at=at, reason=reason, token=book.token())


def send_back_rejected(book: Book, clock: Clock) -> None:
    for lot in list(book.rejected):
        if lot.made_on + timedelta(days=21) > book.day:
            continue
        book.rejected.remove(lot)
        ledger.discard(
            lot,
            ledger.on_hand(lot),
            by=book.owner,
            at=clock.after(2, 4),
            reason="Collected by the supplier's carrier, credit note EXAMPLE-CN-17.",
            token=book.token(),
        )


def take_stock(book: Book, clock: Clock) -> None:
    """At the end of a month: count the cartons and a few drums."""
    drums = [lot for lot in _stocked(ItemKind.MATERIAL) if lot.on_hand > ENOUGH_TO_COUNT_G]
    for lot in book.random.sample(drums, min(3, len(drums))):
        short = Decimal(book.random.choice((0, 0, 1, 2, 3, 5))) / 2
        reason = "Spilt or left on tools since the last count."
        _count(book, clock, lot, lot.on_hand - short, reason)
    used = Decimal(95)
    for lot in _stocked(ItemKind.PACKAGING):
        if lot.item.code == "CTN-12" and used:
            taken = min(used, lot.on_hand)
            used -= taken
            _count(book, clock, lot, lot.on_hand - taken, "Cartons used for dispatches.")


def _count(book: Book, clock: Clock, lot: Lot, counted: Decimal, reason: str) -> None:
    at = clock.after(2, 5)
    ledger.count_lot(lot, counted, by=book.packer, at=at, reason=reason, token=book.token())


def improve_formula(book: Book, clock: Clock) -> None:
    """Half-way through, the hand salve gets a second version with a little less wax."""
    if not book.may_happen("second version", Decimal("0.5")):
        return
    recipe = BY_CODE["BULK-SAL"]
    changed = {"WAX-BEE": "16", "OIL-OLI": "17.5"}
    book.versions[recipe.code] = approved = _next_version(book, clock, recipe.code, changed)
    formulas.approve(approved, by=book.owner, at=clock.after(1, 3))
    approved.refresh_from_db()
    book.note("second version", f"{approved} has less beeswax than the version before it")


def _next_version(book: Book, clock: Clock, code: str, changed: dict[str, str]) -> Version:
    recipe, before = BY_CODE[code], book.versions[code]
    at = clock.after(5, 9)
    draft = formulas.new_version(before.formula, by=book.owner, at=at, like=before)
    parts = [replace(part, share=changed.get(part.code, part.share)) for part in recipe.lines]
    write_draft(book, draft, recipe, parts, at)
    return draft


def draft_formula(book: Book, clock: Clock) -> None:
    """Near the end a draft of the cleansing balm lies on the desk."""
    if book.may_happen("draft version", Decimal("0.97")):
        changed = {"OIL-ROS": "12", "OIL-SUN": "44"}
        draft = _next_version(book, clock, "BULK-ROS", changed)
        book.note("draft version", f"{draft} is a draft, with more rosehip oil")
