"""What a recall or a drill leaves open, each in one sentence."""

from collections.abc import Iterator
from decimal import Decimal

from workshop.aftersales.models import Recall, RecallLine
from workshop.aftersales.recalls.scope import RecallScope, contacts_due
from workshop.core.formatting import number, with_unit
from workshop.ledger.models import ItemKind, Unit

MOST_NAMES = 20
MOST_MISSING = 3


def gaps_of(recall: Recall, reach: RecallScope) -> list[str]:
    """Every unit that is nowhere, every shelf not looked at, everybody not reached."""
    sentences = [sentence for line in reach.lines for sentence in _of_line(line)]
    sentences += [
        f"{number(part.still_out)} of lot {part.lot} left without a customer's name."
        for part in reach.strays
    ]
    not_seen = [line for line in reach.in_house if line.found is None]
    if not_seen:
        lots = _listed([str(line.lot) for line in not_seen])
        sentences.append(f"Nobody looked at the shelf for {lots}; the book's figure stands.")
    if reach.open_runs:
        runs = _listed([str(run) for run in reach.open_runs])
        sentences.append(f"Under way with an affected lot, so more lots will come: {runs}.")
    return sentences + list(_of_buyers(recall, reach))


def missing_said(reach: RecallScope) -> str:
    """What is nowhere, or more than there can be, in whole sentences; nothing if all is there."""
    sentences = [sentence for line in reach.lines for sentence in _of_missing(line)]
    more = len(sentences) - MOST_MISSING
    return " ".join(sentences[:MOST_MISSING]) + (f" And {more} more lots." if more > 0 else "")


def _of_line(line: RecallLine) -> Iterator[str]:
    yield from _of_missing(line)
    name = _name(line)
    if line.lost > 0 and line.lot.item.kind == ItemKind.PRODUCT:
        yield f"{name}: {_amount(line, line.lost)} found short by earlier stock counts."


def _of_missing(line: RecallLine) -> Iterator[str]:
    name = _name(line)
    if line.missing > 0:
        yield f"{name}: {_amount(line, line.missing)} of {number(line.made)} not found anywhere."
    if line.missing < 0:
        yield f"{name}: {_amount(line, -line.missing)} more accounted for than were made."


def _name(line: RecallLine) -> str:
    return f"Lot {line.lot}, {line.lot.item}"


def _amount(line: RecallLine, amount: Decimal) -> str:
    unit = line.lot.item.unit
    pieces = f" unit{'' if amount == 1 else 's'}" if unit == Unit.EACH else ""
    return with_unit(amount, unit) + pieces


def _of_buyers(recall: Recall, reach: RecallScope) -> Iterator[str]:
    unreachable = [
        str(buyer.customer)
        for buyer in reach.buyers
        if not buyer.can_be_reached and not buyer.is_many
    ]
    if unreachable:
        yield f"No telephone, e-mail or address is known of {_listed(unreachable)}."
    yield from _of_many(recall, reach)
    if recall.is_drill:
        return
    due = contacts_due(recall, reach)
    if reach.told < due:
        silent = [str(buyer.customer) for buyer in reach.buyers if not buyer.is_told]
        yield (
            f"Level {recall.level} asks for {due} of {len(reach.buyers)} customers;"
            f" notified so far: {reach.told}. Not notified: {_listed(silent)}."
        )
    unanswered = [
        str(buyer.customer)
        for buyer in reach.buyers
        if buyer.told and not buyer.answer and buyer.still_out
    ]
    if unanswered:
        yield f"Notified, no response yet: {_listed(unanswered)}."
    for buyer in reach.buyers:
        if buyer.answer and buyer.unexplained:
            yield (
                f"{buyer.customer} has responded, but not for all: {number(buyer.unexplained)} of"
                f" {number(buyer.still_out)} still out are not said to be destroyed or sold on."
            )
        gone = buyer.destroyed + buyer.sold_on
        if gone > buyer.still_out:
            yield (
                f"{buyer.customer}: {number(gone)} are said to be destroyed or sold on,"
                f" but only {number(buyer.still_out)} are still out. Ask them again."
            )


def _of_many(recall: Recall, reach: RecallScope) -> Iterator[str]:
    """A name that stands for many is no list of the buyers themselves."""
    what = "named" if recall.is_drill else "notified"
    for buyer in reach.buyers:
        if buyer.is_many and buyer.unreachable:
            yield (
                f"{buyer.customer} stands for many buyers: of {number(buyer.still_out)} units"
                f" still out, the buyers of {number(buyer.unreachable)} are not {what}."
            )


def _listed(names: list[str]) -> str:
    more = len(names) - MOST_NAMES
    return ", ".join(names[:MOST_NAMES]) + (f" and {more} more" if more > 0 else "")
