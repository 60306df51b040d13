"""Weigh into a batch, and take a reading back; a reading sent twice is known by its own token."""

from datetime import datetime
from decimal import Decimal

from django.db import IntegrityError, transaction
from django.db.models import Max, Sum
from django.utils import timezone

from workshop.core.errors import ActionRefused
from workshop.core.formatting import number, with_unit
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.kettle.models import Batch, BatchLine, BatchState, Scale, Weighing
from workshop.kettle.services.batch_state import follow, lock, lock_batch, taken_g
from workshop.kettle.services.losses_from_batch import strain_what_is_due
from workshop.kettle.weighing.line_totals import apply_reading, current_totals
from workshop.kettle.weighing.lot_selection import refusal
from workshop.kettle.weighing.weighed_superfat import refuse_lye_weighed
from workshop.ledger import services as ledger
from workshop.ledger.models import Item, ItemKind, Lot, Posting, Side

# A lot may hold somewhat more than the book says; twice as much is a slip of the hand.
TIMES_ITS_LOT = 2


def record_weighing(
    line: BatchLine,
    lot: Lot,
    reading_g: Decimal,
    *,
    scale: Scale,
    by: User,
    at: datetime,
    token: str,
    note: str = "",
    shown_taken_g: Decimal | None = None,
    kettle_g: Decimal | None = None,
    is_confirmed: bool = False,
) -> Weighing:
    """Record what the scale showed; the same token again answers with the first record.

    The book is never the reason to stop: a lot that falls below zero is shown for counting.
    `shown_taken_g` is what the device showed as taken for the line, `kettle_g` as in the kettle in
    all, if the reading was worked out from it: what was weighed elsewhere meanwhile is told first.
    A figure that can hardly be true is asked about too; `is_confirmed` is the yes to all of it.
    The weighing's line is as if read `with_taken`, its lot as if read `with_on_hand`.
    """
    try:
        with transaction.atomic():
            batch = lock_batch(line.batch)
            _refuse_weighing(batch, note)
            _refuse_reading(reading_g, scale)
            _refuse_other_total(batch, kettle_g)
            current_totals(line, lot)
            if shown_taken_g is not None and not is_confirmed:
                _ask_first(line, lot, reading_g, shown_taken_g)
            sentence = refusal(line, lot, on=timezone.localdate(at))
            if sentence:
                raise ActionRefused(sentence, field="lot")
            _refuse_too_much_rework(line, reading_g)
            if batch.is_being_weighed:
                refuse_lye_weighed(line, lot, reading_g)
            return _write(line, lot, reading_g, scale=scale, by=by, at=at, token=token, note=note)
    except (ActionRefused, IntegrityError):
        # Hardly a reading is sent twice, and none should wait for the question whether it was.
        known = Weighing.objects.filter(posting__token=token).order_by().first()
        if known is None:
            raise
        return _same_weighing(known, line, lot, reading_g)


def _write(
    line: BatchLine,
    lot: Lot,
    reading_g: Decimal,
    *,
    scale: Scale,
    by: User,
    at: datetime,
    token: str,
    note: str,
) -> Weighing:
    batch = line.batch
    posting = ledger.post_held(batch.operation, lot, Side.IN, reading_g, by=by, at=at, token=token)
    weighing = Weighing.objects.create(
        line=line, posting=posting, scale=scale, note=note.strip()[:300]
    )
    apply_reading(line, lot, reading_g)
    what = f"{with_unit(reading_g, 'g')} of lot {lot} ({line.item}) weighed in"
    follow(batch, what, by=by, at=at)
    if batch.state == BatchState.POURED and line.is_strained_out:
        strain_what_is_due(batch, {}, by=by, at=at, token=token)
    return weighing


def _same_weighing(known: Weighing, line: BatchLine, lot: Lot, reading_g: Decimal) -> Weighing:
    posting = known.posting
    if (known.line_id, posting.lot_id, posting.moved) != (line.pk, lot.pk, reading_g):
        raise ActionRefused(
            "This reading was already recorded with other figures. Reload the page."
        )
    current_totals(known.line, posting.lot)
    return known


def _refuse_weighing(batch: Batch, note: str) -> None:
    if batch.is_ended:
        raise ActionRefused(f"{batch} is closed. Only the owner can amend it.")
    if batch.state == BatchState.POURED and not note.strip():
        raise ActionRefused(
            f"{batch} is poured already. If this corrects the record, say how in the note.",
            field="note",
        )


def _refuse_other_total(batch: Batch, kettle_g: Decimal | None) -> None:
    """A running total is only a reading as long as nobody else puts something in."""
    if kettle_g is None:
        return
    now_g = taken_g(batch)
    if now_g != kettle_g:
        raise ActionRefused(
            f"The book now says {with_unit(now_g, 'g')} in the kettle, not "
            f"{with_unit(kettle_g, 'g')}: something was weighed or taken back meanwhile. "
            "Look at the lines, tare the scale, and weigh this one net.",
            field="running_total_g",
        )


class Unseen(ActionRefused):
    """A second yes is wanted: the line was weighed elsewhere meanwhile or is complete, or the
    figure can hardly be true."""


def _ask_first(line: BatchLine, lot: Lot, reading_g: Decimal, shown_taken_g: Decimal) -> None:
    """Ask once about all that speaks against a reading."""
    sentence = _unseen(line, reading_g, shown_taken_g)
    doubts = _doubts(line, lot, reading_g)
    if doubts:
        grams = with_unit(reading_g, "g")
        doubts.append(f"Confirm only if {grams} of {line.item} went in.")
    found = [sentence, *doubts] if sentence else doubts
    if found:
        raise Unseen(" ".join(found), field="reading_g")


def _doubts(line: BatchLine, lot: Lot, reading_g: Decimal) -> list[str]:
    """Why a figure can hardly be true: a slip while typing, or a scale that was not tared.

    A kettle that was full before, or a lot that the book says is empty, says nothing about the
    figure: the book is wrong there, and a question at every reading would be answered unread.
    """
    batch, found = line.batch, []
    before_g, room_g = taken_g(batch), batch.kettle.capacity_g
    total_g = before_g + reading_g
    if total_g > room_g and (before_g <= room_g or reading_g > room_g):
        found.append(
            f"With {with_unit(reading_g, 'g')} more {with_unit(total_g, 'g')} would be in "
            f"{batch.kettle}, which holds {with_unit(room_g, 'g')}."
        )
    if 0 < TIMES_ITS_LOT * lot.on_hand < reading_g:
        found.append(f"Lot {lot} is said to hold {with_unit(lot.on_hand, 'g')}.")
    new_g = reading_g - before_g
    if new_g > 0 and not line.is_done and _fits(line, new_g) and not _fits(line, reading_g):
        found.append(
            f"A scale that was not tared would show that for {with_unit(new_g, 'g')}: then type "
            f"{with_unit(new_g, 'g')}."
        )
    return found


def _fits(line: BatchLine, grams: Decimal) -> bool:
    """Whether that much more brings the line within its tolerance."""
    return line.low_g <= line.taken_g + grams <= line.high_g


def _unseen(line: BatchLine, reading_g: Decimal, shown_taken_g: Decimal) -> str:
    """Nobody weighs a line twice without knowing: not unseen, and not beyond a complete one."""
    if not line.is_planned:
        return ""
    is_too_much = line.taken_g + reading_g > line.high_g
    if line.taken_g != shown_taken_g and (line.is_done or is_too_much):
        return _twice(
            line,
            reading_g,
            f"; this device showed {with_unit(shown_taken_g, 'g')}. Somebody weighed it meanwhile.",
        )
    if line.is_done and is_too_much:
        return _twice(line, reading_g, ", and nothing more is to go in.")
    return ""


def _twice(line: BatchLine, reading_g: Decimal, why: str) -> str:
    return (
        f"{with_unit(line.taken_g, 'g')} of {line.item} is in already{why} "
        f"Confirm only if these {with_unit(reading_g, 'g')} went in as well."
    )


def _refuse_reading(reading_g: Decimal, scale: Scale) -> None:
    if not reading_g.is_finite() or reading_g <= 0:
        raise ActionRefused("A reading is above zero.", field="reading_g")
    if reading_g > scale.capacity_g:
        raise ActionRefused(
            f"The {scale} takes at most {with_unit(scale.capacity_g, 'g')}. "
            "Weigh it in several goes, and record each.",
            field="reading_g",
        )
    if reading_g % scale.division_g:
        raise ActionRefused(
            f"The {scale} shows steps of {number(scale.division_g)} g, so it cannot have shown "
            f"{number(reading_g)} g. Read it again, or choose the scale you used.",
            field="reading_g",
        )


@transaction.atomic
def undo_reading(weighing: Weighing, *, by: User, at: datetime, reason: str, token: str) -> Posting:
    """Take a reading back by its reversal; both stay readable."""
    batch = lock(weighing.line.batch_id)
    is_new = not Posting.objects.filter(token=token).exists()
    posting = ledger.reverse(weighing.posting, by=by, at=at, reason=reason[:300], token=token)
    if is_new:
        taken = weighing.posting
        what = f"{with_unit(taken.moved, 'g')} of lot {taken.lot} taken back: {reason.strip()}"
        follow(batch, what, by=by, at=at)
    return posting


@transaction.atomic
def add_unplanned(
    batch: Batch,
    item: Item,
    lot: Lot,
    reading_g: Decimal,
    *,
    reason: str,
    scale: Scale,
    by: User,
    at: datetime,
    token: str,
) -> Weighing:
    """Record an addition nobody planned, or leftover bulk that is worked in again."""
    check_idempotency(
        token, "addition", batch=batch, item=item, lot=lot, weight=reading_g, reason=reason
    )
    batch = lock(batch.pk)
    known = Weighing.objects.filter(posting__token=token, line__batch=batch).first()
    if known:
        return _same_weighing(known, known.line, lot, reading_g)
    if not reason.strip():
        raise ActionRefused("Say why this is added.", field="reason")
    last = batch.lines.aggregate(last=Max("order", default=0))["last"]
    line = BatchLine.objects.create(
        batch=batch,
        item=item,
        order=last + 1,
        phase="",
        target_g=Decimal(0),
        reason=reason.strip()[:300],
    )
    return record_weighing(
        line, lot, reading_g, scale=scale, by=by, at=at, token=token, note=reason
    )


def _refuse_too_much_rework(line: BatchLine, reading_g: Decimal) -> None:
    """Keep bulk that is worked in again, and is no part of the formula, within its limit."""
    if line.item.kind != ItemKind.BULK:
        return
    version = line.batch.version
    own = version.lines.values("item")
    if own.filter(item=line.item).exists():
        return
    before = Weighing.objects.effective().filter(
        line__batch=line.batch, line__formula_line=None, line__item__kind=ItemKind.BULK
    )
    gone_in = before.exclude(line__item__in=own).aggregate(
        g=Sum("posting__quantity", default=Decimal(0))
    )["g"]
    together = reading_g - gone_in
    limit = line.batch.target_g * version.rework_limit / 100
    if together > limit:
        raise ActionRefused(
            f"{version} takes at most {number(version.rework_limit)} % of rework, here "
            f"{with_unit(limit, 'g')}; with this it would be {with_unit(together, 'g')}. "
            "Work in less.",
            field="reading_g",
        )
