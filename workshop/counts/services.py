"""What can happen in a round: it begins, lots are counted, an owner ends it; classes are set."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.db.models import Exists, F, OuterRef, QuerySet
from django.utils import timezone

from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.core.saving.locks import advisory_lock
from workshop.core.saving.new_tokens import derive_key
from workshop.core.signature import Confirmed
from workshop.counts.classes import class_of, classes_now, used_in_the_year_before
from workshop.counts.due import due_lots
from workshop.counts.models import (
    ROUND_LETTER,
    AbcClass,
    Classing,
    Count,
    CountLine,
    CountRound,
    ItemClass,
    PostedCount,
    RoundEnd,
)
from workshop.counts.rounds import Line, stale, state_of
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, Lot, Place, Placing, Unit
from workshop.ledger.stock_queries import book_at, places_of
from workshop.packing.services.count_units import count_units
from workshop.rules.money.amounts import rounded
from workshop.rules.stock.abc_classes import COUNT_RULES, abc_classes


@dataclass(frozen=True)
class Choice:
    """What a round asks for, and how it is counted."""

    place: Place | None = None
    kind: str = ""
    abc_class: str = ""
    only_due: bool = False
    is_blind: bool = True
    tolerance_percent: Decimal | None = None


def chosen_lots(choice: Choice, at: datetime) -> QuerySet[Lot]:
    """Lots in stock that fit a choice and that no other round under way asks for."""
    taken = CountLine.objects.filter(lot=OuterRef("pk"), round__end=None)
    lots: QuerySet[Lot] = Lot.objects.in_stock().exclude(Exists(taken))
    if choice.only_due:
        lots = due_lots(timezone.localdate(at))
    if choice.place:
        there = Placing.objects.of_now().filter(place=choice.place)
        lots = lots.filter(pk__in=there.values("lot"))
    if choice.kind:
        lots = lots.filter(item__kind=choice.kind)
    if choice.abc_class:
        classes = classes_now()
        of_it = [item for item, name in classes.items() if name == choice.abc_class]
        others = [item for item in classes if item not in set(of_it)]
        # What came into the book since the classes were worked out is of class C.
        is_last = choice.abc_class == AbcClass.C
        lots = lots.exclude(item__in=others) if is_last else lots.filter(item__in=of_it)
    return lots.select_related("item")


@transaction.atomic
def begin_round(choice: Choice, *, by: User, at: datetime, token: str) -> CountRound:
    """Begin a round of the lots that fit; a lot is asked for by one round at a time."""
    if check_idempotency(token, "count round", choice=choice):
        return CountRound.objects.get(token=token)
    advisory_lock("count rounds")
    lots = list(chosen_lots(choice, at))
    if not lots:
        raise ActionRefused("No lot in stock fits this, or another round asks for it already.")
    begun = CountRound.objects.create(
        reference=ledger.next_reference(ROUND_LETTER, timezone.localdate(at)),
        token=token,
        begun_at=at,
        begun_by=by,
        place=choice.place,
        kind=choice.kind,
        abc_class=choice.abc_class,
        only_due=choice.only_due,
        is_blind=choice.is_blind,
        tolerance_percent=choice.tolerance_percent,
    )
    where, classes = places_of([lot.pk for lot in lots]), classes_now()
    lines = [
        _line(begun, lot, where.get(lot.pk), classes.get(lot.item_id, AbcClass.C), by=by, at=at)
        for lot in lots
    ]
    lines.sort(key=lambda one: (str(one.place or "~"), one.lot.item.name, one.lot.code))
    CountLine.objects.bulk_create(lines)
    return begun


def _line(
    found: CountRound, lot: Lot, where: Placing | None, name: str, *, by: User, at: datetime
) -> CountLine:
    own = found.tolerance_percent
    return CountLine(
        round=found,
        lot=lot,
        place=where.place if where else None,
        abc_class=name,
        tolerance_percent=COUNT_RULES[name].tolerance_percent if own is None else own,
        at=at,
        by=by,
    )


@transaction.atomic
def record_count(
    found: CountRound,
    lot: Lot,
    counted: Decimal,
    *,
    by: User,
    at: datetime,
    token: str,
    counted_at: datetime | None = None,
    note: str = "",
) -> Count:
    """Write down what somebody counted, beside the book of that very moment.

    Nothing is overwritten: two people who count the same lot leave two counts. A lot that the
    round did not ask for is added to it as found.
    """
    content = {"round": found, "lot": lot, "counted": counted, "note": note}
    if check_idempotency(token, "count of a round", **content, counted_at=counted_at):
        return Count.objects.get(token=token)
    locked = _under_way(found)
    moment = counted_at or at
    _refuse_odd(lot, counted, moment, locked.begun_at, at)
    line = CountLine.objects.filter(round=locked, lot=lot).first() or _found(
        locked, lot, by=by, at=at
    )
    return Count.objects.create(
        line=line,
        counted=counted,
        book=book_at(lot, moment),
        counted_at=moment,
        note=note.strip(),
        by=by,
        at=at,
        token=token,
    )


def _under_way(found: CountRound) -> CountRound:
    """The round, held until this transaction ends."""
    locked = CountRound.objects.select_for_update(of=("self",)).get(pk=found.pk)
    if RoundEnd.objects.filter(round=locked).exists():
        raise ActionRefused(f"{locked} is over; nothing is counted in it any more.")
    return locked


def _refuse_odd(
    lot: Lot, counted: Decimal, moment: datetime, begun_at: datetime, at: datetime
) -> None:
    if counted < 0 or counted >= ledger.LARGEST:
        raise ActionRefused("A counted quantity is not below zero.", field="counted")
    if counted != round(counted, 0 if lot.item.unit == Unit.EACH else 3):
        fine = "whole pieces" if lot.item.unit == Unit.EACH else "at most three decimal places"
        raise ActionRefused(f"{lot.item} is counted in {fine}.", field="counted")
    if moment > at:
        raise ActionRefused("That time is in the future.", field="counted_at")
    # A time is typed without its seconds.
    if moment < begun_at.replace(second=0, microsecond=0):
        raise ActionRefused("The round had not begun then.", field="counted_at")


def _found(locked: CountRound, lot: Lot, *, by: User, at: datetime) -> CountLine:
    advisory_lock("count rounds")
    elsewhere = CountLine.objects.filter(lot=lot, round__end=None).select_related("round").first()
    if elsewhere:
        raise ActionRefused(f"Lot {lot} is asked for by {elsewhere.round}; count it there.")
    line = _line(locked, lot, places_of([lot.pk]).get(lot.pk), class_of(lot.item), by=by, at=at)
    line.is_found = True
    line.save(force_insert=True)
    return line


@transaction.atomic
def record_sheet(
    found: CountRound,
    figures: Mapping[Lot, Decimal],
    *,
    by: User,
    at: datetime,
    counted_at: datetime,
    token: str,
) -> list[Count]:
    """Write down a sheet of paper: all of it is recorded, or nothing.

    Raises ActionRefused with the field `counted-` and the lot's key.
    """
    made = []
    for lot, counted in figures.items():
        try:
            made.append(
                record_count(
                    found,
                    lot,
                    counted,
                    by=by,
                    at=at,
                    counted_at=counted_at,
                    token=derive_key(token, lot.pk),
                )
            )
        except ActionRefused as error:
            field = f"counted-{lot.pk}" if error.field == "counted" else error.field
            raise ActionRefused(error.message, field=field, renewed=error.renewed) from error
    return made


@transaction.atomic
def end_round(
    found: CountRound,
    reasons: Mapping[int, str],
    *,
    confirmed: Confirmed | None,
    by: User,
    at: datetime,
    token: str,
) -> RoundEnd:
    """End a round, and set the book to what was counted wherever a line is in `reasons`.

    Each lot that is set right has a stock count of its own, dated at its count. What nobody
    counted, or what is still to be counted again, stays as the book has it. Raises ActionRefused
    with the field `reason-` and the line's key.
    """
    if check_idempotency(token, "end of a count round", round=found, reasons=reasons):
        return RoundEnd.objects.get(token=token)
    if by.role != Role.OWNER:
        raise ActionRefused("Only an owner ends a round and sets the book right.")
    if confirmed is None or not confirmed.is_of(by):
        raise ActionRefused("Sign with your password.", field="password")
    locked = _under_way(found)
    lines = [line for line in state_of(locked).differing if line.row.pk in reasons]
    no_longer = stale(lines)
    end = RoundEnd.objects.create(round=locked, by=by, at=at, token=token)
    for line in lines:
        field, reason = f"reason-{line.row.pk}", reasons[line.row.pk].strip()
        if line.row.pk in no_longer:
            raise ActionRefused(
                f"{no_longer[line.row.pk]} Count lot {line.row.lot} again, or leave it out.",
                field=field,
            )
        if not reason:
            raise ActionRefused("Say why, as far as you know.", field=field)
        try:
            _set_right(end, line, reason)
        except ActionRefused as error:
            raise ActionRefused(error.message, field=field) from error
    return end


def _set_right(end: RoundEnd, line: Line, reason: str) -> None:
    last = line.counts[-1]
    set_book = count_units if line.row.lot.item.kind == ItemKind.PRODUCT else ledger.count_lot
    operation = set_book(
        line.row.lot,
        last.counted,
        by=end.by,
        at=end.at,
        reason=f"{reason} ({end.round})"[:300],
        token=derive_key(end.token, line.row.pk),
        counted_at=last.counted_at,
    )
    PostedCount.objects.create(end=end, count=last, operation=operation, reason=reason[:300])


@transaction.atomic
def reckon_classes(*, by: User, at: datetime, token: str) -> Classing:
    """Put every item of the book into its class by the year behind."""
    if check_idempotency(token, "classes", by=by):
        return Classing.objects.get(token=token)
    if by.role != Role.OWNER:
        raise ActionRefused("Only an owner sets the classes.")
    values = used_in_the_year_before(at)
    classing = Classing.objects.create(by=by, at=at, token=token)
    ItemClass.objects.bulk_create(
        ItemClass(
            classing=classing, item_id=item, abc_class=name, used_value=rounded(values[item], 4)
        )
        for item, name in sorted(abc_classes(values).items())
    )
    return classing


def latest_classes() -> QuerySet[ItemClass]:
    return (
        ItemClass.objects.filter(classing=Classing.objects.last())
        .select_related("item")
        .order_by(F("used_value").desc(), "pk")
    )
