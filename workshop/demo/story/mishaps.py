"""What goes wrong at the kettle, as it does: each once or now and then, and all of it recorded."""

from collections.abc import Callable
from decimal import Decimal

from workshop.demo.story.making import Stove, finish, weigh_up
from workshop.demo.story.story_state import Book
from workshop.kettle import services as kettle
from workshop.kettle.weighing.lot_selection import Proposal
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot

TOO_MUCH = Decimal("1.06")
LEAST_REMELT_G = Decimal(20)


def over_pour(stove: Stove) -> None:
    """Too much wax: it cannot be removed once added, so everything else is added to fit."""
    *others, wax = stove.proposals
    for proposal in others:
        stove.weigh(proposal)
    stove.weigh(wax, wax.need_g * TOO_MUCH, note="Slipped: 6 % too much.")
    for proposal in others:
        note = f"Rebalanced: {wax.line.item} was over-poured by 6 %."
        stove.weigh(proposal, proposal.need_g * (TOO_MUCH - 1), note=note)
    stove.pour_note = f"{wax.line.item} over-poured by 6 %; all other lines raised to match."
    finish(stove)
    stove.book.note(
        "over-pour", f"{stove.batch}: {wax.line.item} over-poured, rebalanced by additions"
    )


def substitute(stove: Stove) -> None:
    """A stand-in that the formula allows is used for one line."""
    replaced = next((one for one in stove.proposals if _stand_in(stove, one)), None)
    for proposal in stove.proposals:
        lot = _stand_in(stove, proposal) if proposal is replaced else None
        if lot is None:
            stove.weigh(proposal)
            continue
        note = f"{proposal.line.item} was put by for a large order; {lot.item} instead."
        stove.record(proposal, lot, proposal.need_g, scale=stove.book.bench, note=note)
        stove.book.note(
            "substitution",
            f"{stove.batch}: {lot.item} (lot {lot}) in place of {proposal.line.item}",
        )
    finish(stove)


def other_butter(stove: Stove) -> None:
    """The same again, now that the label is approved and names the butter that is put by."""
    what = f"{stove.batch} holds another butter than the approved label names"
    if any(_stand_in(stove, one) for one in stove.proposals):
        stove.book.note("other butter", what)
    substitute(stove)


def _stand_in(stove: Stove, proposal: Proposal) -> Lot | None:
    enough = (lot for lot in proposal.instead if stove.left[lot.pk] >= proposal.need_g)
    return next(enough, None)


def correct(stove: Stove) -> None:
    """A reading is typed with two digits swapped, taken back, and recorded as it was."""
    first, *others = stove.proposals
    wrong = first.need_g + Decimal("4.5")
    weighing = stove.record(first, first.usable[0], wrong, scale=stove.book.bench)
    kettle.undo_reading(
        weighing,
        by=stove.maker,
        at=stove.clock.after(0.3, 0.8),
        reason="Typed wrongly: two digits swapped.",
        token=stove.book.token(),
    )
    stove.left[first.usable[0].pk] += wrong
    stove.taken_g -= wrong
    stove.weigh(first)
    for proposal in others:
        stove.weigh(proposal)
    finish(stove)
    stove.book.note("correction", f"{stove.batch}: a reading of {first.line.item} was taken back")


def stop_half_way(stove: Stove) -> None:
    """The thermostat fails: the melt is scorched, and the batch is stopped for good."""
    half = stove.proposals[: len(stove.proposals) // 2]
    for proposal in half:
        stove.weigh(proposal)
    kettle.abandon_batch(
        stove.batch,
        by=stove.book.owner,
        at=stove.clock.after(10, 20),
        reason="Thermostat failed; the melt reached 120 °C and smelled scorched. Written off.",
    )
    stove.book.note("stopped batch", f"{stove.batch} was stopped half-way: scorched")


def below_zero(stove: Stove) -> None:
    """A bottle was counted wrongly; the next batch takes more than the book says is there."""
    proposal = next(one for one in stove.proposals if one.line.item.code == "EO-EUC")
    lot = proposal.usable[0]
    ledger.count_lot(
        lot,
        Decimal(3),
        by=stove.book.packer,
        at=stove.clock.after(2, 4),
        reason="Only the small bottle was found on the shelf.",
        token=stove.book.token(),
    )
    for one in stove.proposals:
        if one is proposal:
            note = "The large bottle stood in the other cupboard."
            stove.record(one, lot, one.need_g, scale=stove.book.fine, note=note)
        else:
            stove.weigh(one)
    finish(stove)
    stove.book.note("below zero", f"lot {lot} of {lot.item} stands below zero since {stove.batch}")


def usual(stove: Stove) -> None:
    weigh_up(stove)
    remelt(stove)
    finish(stove)


def remelt(stove: Stove) -> None:
    """Work leftover bulk of the same kind in again, as far as the formula allows."""
    version = stove.batch.version
    if not version.rework_limit:
        return
    item = version.formula.item
    limit = stove.batch.target_g * version.rework_limit / 100
    room = stove.batch.kettle.capacity_g - stove.batch.target_g * Decimal("1.02")
    lots = item.lots.available(on=stove.book.day).select_related("item")
    most = min(limit, room)
    leftover = next((lot for lot in lots if LEAST_REMELT_G <= lot.on_hand <= most), None)
    if leftover is None:
        return
    grams = leftover.on_hand
    kettle.add_unplanned(
        stove.batch,
        item,
        leftover,
        grams,
        reason="Leftover too small to pack, melted in again.",
        scale=stove.book.fine,
        by=stove.maker,
        at=stove.clock.after(1, 3),
        token=stove.book.token(),
    )
    stove.taken_g += grams
    stove.book.note("remelt", f"{stove.batch}: {grams} g left of lot {leftover} melted in again")


Act = Callable[[Stove], None]
# What happens, after which share of the history, to a batch of which bulk.
ONCE: tuple[tuple[str, str, tuple[str, ...], Act], ...] = (
    ("correction", "0.08", ("BULK-SAL", "BULK-CED", "BULK-MIN"), correct),
    ("over-pour", "0.2", ("BULK-SAL", "BULK-CED", "BULK-MIN"), over_pour),
    ("substitution", "0.3", ("BULK-MIN",), substitute),
    ("stopped batch", "0.5", ("BULK-ROS", "BULK-BAR"), stop_half_way),
    ("other butter", "0.95", ("BULK-MIN",), other_butter),
    ("below zero", "0.91", ("BULK-MIN",), below_zero),
)


def turn_of_events(book: Book, code: str) -> Act:
    """What will happen to the next batch of this bulk: mostly what is meant to."""
    for what, after, codes, act in ONCE:
        if code in codes and book.may_happen(what, Decimal(after)):
            return act
    return correct if book.chance(40) else usual
