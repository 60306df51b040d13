"""What was found on the shelves and is far from the book: asked for once more before it stands."""

from collections.abc import Sequence
from hashlib import sha256

from workshop.aftersales.models import RecallLine
from workshop.core.errors import ActionRefused
from workshop.core.formatting import counted
from workshop.rules.aftersales.recalls import is_far_from_book

MOST_NAMED = 8
LONGEST_MARK = 16


def ask_about_far_off(lines: Sequence[RecallLine], sure: str) -> None:
    """Refuse figures far from the book unless `sure` is the mark that these very ones came with.

    Other figures, or another book by now, have another mark and are asked for anew.
    """
    far = [
        line
        for line in lines
        if line.found is not None and is_far_from_book(line.on_hand, line.found)
    ]
    mark = _mark_of(far)
    if not far or sure == mark:
        return
    named = "; ".join(map(_said, far[:MOST_NAMED]))
    more = f"; and {len(far) - MOST_NAMED} more" if len(far) > MOST_NAMED else ""
    raise ActionRefused(
        f"Not closed yet, as this is far from the book. {named}{more}. Look again, and mind the"
        " unit. If it is as you typed it, press the button once more.",
        renewed={"sure": mark},
    )


def _mark_of(lines: Sequence[RecallLine]) -> str:
    told = [(line.lot.pk, f"{line.on_hand:.3f}", f"{line.found:.3f}") for line in lines]
    return sha256(repr(told).encode()).hexdigest()[:LONGEST_MARK]


def _said(line: RecallLine) -> str:
    lot, unit = line.lot, line.lot.item.unit
    return (
        f"Lot {lot}, {lot.item}: the book says {counted(line.on_hand, unit)},"
        f" found {counted(line.found, unit)}"
    )
