"""What a room adds to the ledger's rules for the lots that it brings in or makes.

Each room that has such lots names its own in its `lot_rules.py`, so that the ledger asks them
whoever calls it, without knowing the rooms below it.
"""

from collections.abc import Callable, Collection
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from importlib import import_module
from typing import Any, NamedTuple

from django.apps import apps
from django.db.models import QuerySet
from django.utils.module_loading import module_has_submodule

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


class Kept(NamedTuple):
    """So much of a lot is meant for something planned, by its reference."""

    lot: int
    reference: str
    quantity: Decimal


def kept_for(lots: Collection[int], *, but_for: str = "") -> dict[int, list[Kept]]:
    """What of these lots is kept for something other than `but_for`, as the rooms say.

    A room that keeps lots names a function `kept_of` in its `lot_rules.py`.
    """
    found: dict[int, list[Kept]] = {}
    for module in _modules("kept_of"):
        for one in module.kept_of(lots):
            if one.reference != but_for:
                found.setdefault(one.lot, []).append(one)
    return found


def _modules(name: str) -> list[Any]:
    modules = [
        import_module(f"{app.name}.lot_rules")
        for app in apps.get_app_configs()
        if app.label != "ledger" and module_has_submodule(app.module, "lot_rules")
    ]
    return [module for module in modules if hasattr(module, name)]


@cache
def _rooms() -> dict[str, LotRules]:
    return {
        str(rules.kind): rules for module in _modules("LOT_RULES") for rules in module.LOT_RULES
    }


@cache
def _conditions() -> dict[str, list[Condition]]:
    """What rooms below the one that made a lot ask besides: their `CONDITIONS`, by its kind."""
    found: dict[str, list[Condition]] = {}
    for module in _modules("CONDITIONS"):
        for kind, condition in module.CONDITIONS.items():
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
