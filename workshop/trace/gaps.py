"""What a recall or a drill leaves open, each in one sentence."""

from collections.abc import Iterator

from workshop.core.shown import number, with_unit
from workshop.ledger.models import Unit
from workshop.trace.affected import Reach, contacts_due
from workshop.trace.models import Recall, RecallLine

MOST_NAMES = 20


def gaps_of(recall: Recall, reach: Reach) -> list[str]:
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


def _of_line(line: RecallLine) -> Iterator[str]:
    lot, unit = line.lot, line.lot.item.unit
    pieces = " units" if unit == Unit.EACH else ""
    if line.missing > 0:
        amount = with_unit(line.missing, unit)
        yield f"Lot {lot}, {lot.item}: {amount}{pieces} of {number(line.made)} are nowhere."
    if line.missing < 0:
        amount = with_unit(-line.missing, unit)
        yield f"Lot {lot}, {lot.item}: {amount}{pieces} more than were made are accounted for."
    if line.lost > 0:
        amount = with_unit(line.lost, unit)
        yield f"Lot {lot}, {lot.item}: {amount}{pieces} were found short by earlier stock counts."


def _of_buyers(recall: Recall, reach: Reach) -> Iterator[str]:
    unreachable = [str(buyer.customer) for buyer in reach.buyers if not buyer.can_be_reached]
    if unreachable:
        yield f"No telephone, e-mail or address is known of {_listed(unreachable)}."
    if recall.is_drill:
        return
    due = contacts_due(recall, reach)
    if reach.told < due:
        silent = [str(buyer.customer) for buyer in reach.buyers if not buyer.told]
        yield (
            f"Level {recall.level} asks for {due} of {len(reach.buyers)} customers;"
            f" {reach.told} were told. Not told: {_listed(silent)}."
        )
    unanswered = [
        str(buyer.customer)
        for buyer in reach.buyers
        if buyer.told and not buyer.answer and buyer.still_out
    ]
    if unanswered:
        yield f"Told, but without an answer: {_listed(unanswered)}."
    for buyer in reach.buyers:
        if buyer.answer and buyer.unexplained:
            yield (
                f"{buyer.customer} has answered, but of {number(buyer.unexplained)} units"
                " neither came back nor was said to be destroyed or sold on."
            )


def _listed(names: list[str]) -> str:
    more = len(names) - MOST_NAMES
    return ", ".join(names[:MOST_NAMES]) + (f" and {more} more" if more > 0 else "")
