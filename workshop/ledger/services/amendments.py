"""Put a closed record right: take what it moved back, or correct its facts; then seal it anew."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.ledger.models import (
    Amendment,
    Correction,
    Lot,
    LotQuerySet,
    Operation,
    Posting,
    Status,
)
from workshop.ledger.services.lots import set_lot_status
from workshop.ledger.services.operations import amend_operation
from workshop.ledger.services.postings import reverse

LONGEST_REASON = 300
MOST_NAMED = 6


class InTheWay(ActionRefused):
    """Something has used it since; `references` name what stands in the way, for links."""

    def __init__(self, sentence: str, references: Sequence[str]) -> None:
        super().__init__(sentence)
        self.references = list(references)


@dataclass(frozen=True)
class Fact:
    """A fact of a record as it was and as it is put right, in words; `lot` where it is of one."""

    name: str
    was: str
    now: str
    lot: Lot | None = None


def begin_amendment(operation: Operation, *, by: User, at: datetime, reason: str) -> Amendment:
    """Open a closed record for an owner; whoever calls this closes it again."""
    amend_operation(operation, by=by, at=at, reason=reason[:LONGEST_REASON])
    return Amendment.objects.filter(operation=operation).order_by("-pk")[0]


def note_facts(amendment: Amendment, facts: Collection[Fact]) -> list[Correction]:
    """Keep what each fact was. Raises ActionRefused where nothing changes."""
    changed = [fact for fact in facts if fact.was != fact.now]
    if not changed:
        raise ActionRefused("Nothing is different. Change what is wrong, or leave the page.")
    return [
        Correction.objects.create(
            amendment=amendment,
            lot=fact.lot,
            fact=fact.name,
            was=fact.was,
            now=fact.now,
        )
        for fact in changed
    ]


def obstacle(lots: Collection[Lot], *, of: Operation) -> InTheWay | None:
    """What has used these lots since, in words and by reference, or None."""
    used = Posting.objects.effective().filter(lot__in=[lot.pk for lot in lots])
    uses = used.exclude(operation=of).select_related("operation", "lot").order_by("pk")
    named = list(dict.fromkeys((str(use.lot), use.operation.reference) for use in uses))
    if not named:
        return None
    told = ", ".join(f"lot {lot} is in {reference}" for lot, reference in named[:MOST_NAMED])
    more = f" and {len(named) - MOST_NAMED} more" if len(named) > MOST_NAMED else ""
    return InTheWay(
        f"It has been used: {told}{more}. Take those entries back first, where they are wrong too.",
        list(dict.fromkeys(reference for _, reference in named)),
    )


def refuse_used(lots: Collection[Lot], *, of: Operation) -> None:
    """Raise InTheWay if anything has used one of these lots, which stay locked."""
    # The lock waits for whoever is writing a posting of them now; then the look-up sees it.
    locked = Lot.objects.select_for_update().filter(pk__in=[lot.pk for lot in lots])
    list(locked.order_by("pk").values_list("pk", flat=True))
    in_the_way = obstacle(lots, of=of)
    if in_the_way:
        raise in_the_way


@transaction.atomic
def reverse_all(
    postings: Collection[Posting], *, by: User, at: datetime, reason: str
) -> list[Posting]:
    """Take several postings of one opened record back, each by a reversal of its own."""
    why = reason.strip()[:LONGEST_REASON]
    return [reverse(posting, by=by, at=at, reason=why) for posting in postings]


def void_lots(lots: LotQuerySet, *, by: User, at: datetime, reason: str) -> None:
    """What was never there is rejected, so that nothing offers it."""
    why = f"Taken back: {reason.strip()}"[:LONGEST_REASON]
    for lot in lots.exclude(status=Status.REJECTED):
        set_lot_status(lot, Status.REJECTED, by=by, at=at, reason=why)
