"""What a release of a lot needs, asked of the rooms, and how long its lots keep by themselves.

Each room that brings in or makes lots says so as `LOT_RULES` in its `release_conditions.py`, and a
room that asks besides names `CONDITIONS` there: so the ledger asks them whoever calls it, without
knowing the rooms below it. Which lots may be used is said where they are used, such as in
`kettle/weighing/lot_selection.py` and `packing/usable_lots.py`.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache

from django.db.models import QuerySet

from workshop.core.database.room_modules import said_by_rooms
from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.signature import Confirmed
from workshop.ledger.models import Lot, Operation, OperationKind, Side, Status


@dataclass(frozen=True)
class Release:
    """A release as it is asked for: by whom, when, with which words, and whether it is signed."""

    by: User
    at: datetime
    reason: str
    confirmed: Confirmed | None
    # Whether an owner releases it in spite of what it still lacks.
    is_despite: bool = False

    @property
    def is_signed(self) -> bool:
        return self.confirmed is not None and self.confirmed.is_of(self.by)


# What of a lot is lacking on a day, in sentences.
Condition = Callable[[Lot, date], list[str]]


def nothing_unbinding(lots: QuerySet[Lot]) -> dict[int, set[int]]:
    """Whatever goes into the lots of a room limits how long they keep."""
    return {}


@dataclass(frozen=True)
class LotRules:
    """What one room says of the lots that come out of its operations of one kind.

    `refuse_release` raises ActionRefused while its conditions are not met; `release_page` is the
    address where they are shown, or None where the room knows nothing of the lot. `own_dates` are
    the dates up to which its lots would keep whatever went into them; a lot that the room did not
    make is left out. `unbinding` names, for each lot, what went into it without limiting its date.
    """

    kind: OperationKind
    refuse_release: Callable[[Lot, Release], None]
    release_page: Callable[[Lot], str | None]
    own_dates: Callable[[QuerySet[Lot]], dict[int, date | None]]
    unbinding: Callable[[QuerySet[Lot]], dict[int, set[int]]] = nothing_unbinding


@cache
def _rooms() -> dict[str, LotRules]:
    return {
        str(rules.kind): rules
        for room in said_by_rooms("release_conditions", "LOT_RULES")
        for rules in room
    }


@cache
def _conditions() -> dict[str, list[Condition]]:
    """What rooms below the one that made a lot ask besides: their `CONDITIONS`, by its kind."""
    found: dict[str, list[Condition]] = {}
    for room in said_by_rooms("release_conditions", "CONDITIONS"):
        for kind, condition in room.items():
            found.setdefault(str(kind), []).append(condition)
    return found


def unmet(lot: Lot, on: date) -> list[str]:
    """What a release of a lot lacks on a day, each in a sentence; an owner may pass over it."""
    return [
        one for condition in _conditions().get(lot.origin.kind, ()) for one in condition(lot, on)
    ]


def unmet_and_not_passed_over(lot: Lot, on: date) -> list[str]:
    """The same, unless an owner released the lot in spite of what it lacked."""
    last = lot.status_changes.last()
    return [] if last is not None and last.despite else unmet(lot, on)


def all_rules() -> list[LotRules]:
    return list(_rooms().values())


def rules_of(lot: Lot) -> LotRules | None:
    return _rooms().get(lot.origin.kind)


def release_page(lot: Lot) -> str | None:
    """Where this lot is released, if a room decides about it."""
    rules = rules_of(lot)
    return rules.release_page(lot) if rules else None


def nothing_of_its_own(lots: QuerySet[Lot]) -> dict[int, date | None]:
    """The dates of a room whose lots keep as long as was written down when they came in."""
    return {}


def refuse_unsettled_inputs(
    operation: Operation, *, may_wait: Callable[[Lot], bool] = lambda lot: False
) -> None:
    """What went in was released then; if it is not now, it is decided about first.

    `may_wait` says of which lots nobody need decide.
    """
    taken = operation.postings.effective().filter(side=Side.IN)
    unsettled = taken.exclude(lot__status=Status.RELEASED).select_related("lot__item")
    for posting in unsettled.order_by("pk"):
        used = posting.lot
        if may_wait(used):
            continue
        raise ActionRefused(
            f"Lot {used} ({used.item}) went into it and is {used.get_status_display()}; "
            "decide about that one first."
        )
