"""Give a lot its code, and move it to another status."""

import secrets
from collections.abc import Callable, Collection
from datetime import date, datetime

from django.db import transaction
from django.utils import timezone

from workshop.core import formatting
from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.core.saving.locks import advisory_lock
from workshop.core.signature import Confirmed
from workshop.ledger.inherited_best_before import dates_beside, made_of
from workshop.ledger.lot_tree import descendants, links_forward
from workshop.ledger.models import DateChange, Item, Lot, Operation, Status, StatusChange
from workshop.ledger.release_conditions import Release, rules_of, unmet
from workshop.rules.codes.lot_codes import make_lot_code
from workshop.rules.dates.best_before import is_past
from workshop.rules.dates.inherited_dates import tree_dates
from workshop.rules.lot_status import refusal

LONGEST_REASON = 300


@transaction.atomic
def create_lot(
    item: Item,
    *,
    origin: Operation,
    made_on: date,
    best_before: date | None,
    by: User,
    at: datetime,
    status: Status = Status.QUARANTINE,
    draw: Callable[[int], int] = secrets.randbelow,
) -> Lot:
    """Give a new lot of `item` its code. It holds nothing until something is posted.

    `draw(n)` picks 0 … n-1; a fixed one makes a repeatable demo.
    """
    advisory_lock("lot code")
    code = make_lot_code(draw)
    while Lot.objects.filter(code=code).exists():
        code = make_lot_code(draw)
    lot = Lot.objects.create(
        item=item,
        code=code,
        status=status,
        made_on=made_on,
        best_before=best_before,
        origin=origin,
    )
    StatusChange.objects.create(lot=lot, was="", now=status, at=at, by=by)
    return lot


@transaction.atomic
def set_lot_status(
    lot: Lot,
    status: Status,
    *,
    by: User,
    at: datetime,
    reason: str = "",
    confirmed: Confirmed | None = None,
    is_despite: bool = False,
) -> Lot:
    """Move a lot to another status, as `rules.lot_status` allows; say who, when and why.

    A release asks the room that the lot came from, whoever calls: nothing passes its conditions.
    `confirmed` is the signature where one is asked for. With `is_despite` an owner releases it in
    spite of what rooms still ask for, signed and with a reason, and that stays with the lot.
    """
    locked = lock_lot(lot)
    if locked.status == status:
        raise ActionRefused(f"Lot {lot} is already {locked.get_status_display()}.")
    is_signed = confirmed is not None and confirmed.is_of(by)
    found = refusal(locked.status, status, role=by.role, reason=reason, has_password=is_signed)
    if found:
        raise ActionRefused(found.sentence, field=found.field)
    despite = ""
    if status == Status.RELEASED:
        release = Release(by, at, reason, confirmed, is_despite)
        _refuse_release(locked, release)
        despite = _despite(locked, release)
    return _move(locked, status, by=by, at=at, reason=reason, despite=despite)


def _despite(lot: Lot, release: Release) -> str:
    """What an owner passes over. Raises ActionRefused where nobody does."""
    lacking = " ".join(unmet(lot, timezone.localdate(release.at)))
    if not lacking or not release.is_despite:
        if lacking:
            raise ActionRefused(lacking)
        return ""
    if release.by.role != Role.OWNER:
        raise ActionRefused(f"{lacking} Only an owner may release it all the same.")
    if not release.is_signed:
        raise ActionRefused("Give your password to release it all the same.", field="password")
    if not release.reason.strip():
        raise ActionRefused("Say why it is released all the same.", field="reason")
    return lacking


def lock_lot(lot: Lot) -> Lot:
    rows = Lot.objects.select_for_update(of=("self",)).select_related("item", "origin")
    return rows.get(pk=lot.pk)


def _refuse_release(lot: Lot, release: Release) -> None:
    if lot.best_before and is_past(lot.best_before, timezone.localdate(release.at)):
        raise ActionRefused(
            f"Lot {lot} was best before {formatting.day(lot.best_before)} and cannot be released"
            " any more."
        )
    rules = rules_of(lot)
    if rules:
        rules.refuse_release(lot, release)


def _move(
    lot: Lot, status: Status, *, by: User, at: datetime, reason: str, despite: str = ""
) -> Lot:
    StatusChange.objects.create(
        lot=lot,
        was=lot.status,
        now=status,
        at=at,
        by=by,
        reason=reason.strip()[:LONGEST_REASON],
        despite=despite,
    )
    lot.status = status
    lot.save(update_fields=["status"])
    return lot


@transaction.atomic
def undo_release(lots: Collection[Lot], what: str, *, by: User, at: datetime) -> list[Lot]:
    """What was released and then changed is no longer what was signed.

    The released ones of `lots` go back into quarantine; whatever was made from them, at any
    depth, and is released is put on hold. Answers with all that moved.
    """
    released = [lot for lot in map(lock_lot, lots) if lot.status == Status.RELEASED]
    reason = f"Changed after its release: {what}"
    moved = [_move(lot, Status.QUARANTINE, by=by, at=at, reason=reason) for lot in released]
    for lot in released:
        why = f"Lot {lot}, which went into it, was changed after its release: {what}"
        moved += _hold_released(descendants([lot.pk]) - {lot.pk}, why, by=by, at=at)
    return moved


def _hold_released(lot_ids: Collection[int], why: str, *, by: User, at: datetime) -> list[Lot]:
    """Put those of these lots on hold that are released, for an owner to decide about."""
    rows = Lot.objects.select_for_update(of=("self",)).filter(pk__in=lot_ids)
    released = rows.filter(status=Status.RELEASED).order_by("pk")
    return [_move(lot, Status.ON_HOLD, by=by, at=at, reason=why) for lot in released]


@transaction.atomic
def change_best_before(
    lot: Lot, best_before: date | None, *, by: User, at: datetime, reason: str
) -> Lot:
    """Give a lot another best-before date; say who, when and why. The same date changes nothing.

    Whatever was made from it follows, at any depth; what was released with a date that is now too
    late is put on hold, for an owner to decide about.
    """
    locked = lock_lot(lot)
    if locked.best_before == best_before:
        return locked
    if not reason.strip():
        raise ActionRefused("Say why the best-before date changes.", field="reason")
    if best_before is not None and best_before < locked.made_on:
        raise ActionRefused(
            f"Lot {lot} was made on {formatting.day(locked.made_on)}, after this date.",
            field="best_before",
        )
    was, reason = locked.best_before, reason.strip()
    _redate(locked, best_before, by=by, at=at, reason=reason)
    _follow_dates(locked, was, by=by, at=at, reason=reason)
    return locked


def _redate(lot: Lot, best_before: date | None, *, by: User, at: datetime, reason: str) -> None:
    DateChange.objects.create(
        lot=lot,
        was=lot.best_before,
        now=best_before,
        at=at,
        by=by,
        reason=reason[:LONGEST_REASON],
    )
    lot.best_before = best_before
    lot.save(update_fields=["best_before"])


def _follow_dates(root: Lot, was: date | None, *, by: User, at: datetime, reason: str) -> None:
    """Work the dates of everything made from `root` out anew."""
    below = {link.product_id for link in links_forward([root.pk])}
    if not below:
        return
    made = made_of(below)
    due = tree_dates(made, dates_beside(made))
    lots = Lot.objects.select_for_update(of=("self",)).select_related("item").filter(pk__in=made)
    for lot in lots.order_by("pk"):
        if lot.best_before != due[lot.pk]:
            why = f"{_cause(root, was)}: {reason}"
            _follow(lot, due[lot.pk], by=by, at=at, why=why)


def _cause(root: Lot, was: date | None) -> str:
    return (
        f"Lot {root} ({root.item}), which went into it, is now best before "
        f"{_day(root.best_before)}, not {_day(was)}"
    )


def _follow(lot: Lot, due: date | None, *, by: User, at: datetime, why: str) -> None:
    had = lot.best_before
    _redate(lot, due, by=by, at=at, reason=why)
    is_too_late = due is not None and (had is None or had > due)
    if is_too_late and lot.status == Status.RELEASED:
        words = f"Released with {_day(had)}, but best before {_day(due)}. {why}"
        _move(lot, Status.ON_HOLD, by=by, at=at, reason=words)


def _day(day: date | None) -> str:
    return formatting.day(day) if day else "no date"
