"""A printing fetched again, and labels printed again under the same numbers after a jam."""

from datetime import datetime

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.labels.approval.print_status import label_status
from workshop.labels.layout.fit_to_label import draw, draw_sticker
from workshop.labels.layout.label_stock import layout_of
from workshop.labels.models import Print, PrintKind
from workshop.labels.printing.serial_numbers import numbered_pdf
from workshop.labels.printing.sheet_imposition import put_on_paper
from workshop.labels.services.printing import text_of


def paper_of(printed: Print) -> bytes:
    """The PDF of a printing in the log, as it was. Raises ActionRefused once its words changed."""
    layout = layout_of(printed.layout)
    if printed.kind == PrintKind.CARTON or layout is None:
        raise ActionRefused("Carton labels are printed again, each with its own number.")
    standing = label_status(printed.lot, printed.market)
    if standing.stops:
        raise ActionRefused(" ".join(standing.stops))
    if text_of(standing, printed.kind) != printed.text:
        raise ActionRefused(
            "The label has changed since this was printed: print it again and say why."
        )
    cells = frozenset(printed.spoiled_cells)
    first = printed.first_cell
    if printed.numbered and printed.kind == PrintKind.LABEL:
        numbers = range(printed.first_number, printed.first_number + printed.count)
        return numbered_pdf(standing.label, layout, numbers, first_cell=first, spoiled_cells=cells)
    is_sticker = printed.kind == PrintKind.STICKER
    drawn = draw_sticker(standing.computed, layout) if is_sticker else draw(standing.label, layout)
    return put_on_paper(drawn.pdf, layout, printed.count, first_cell=first, spoiled_cells=cells)


@transaction.atomic
def print_again(
    printed: Print, *, first: int, count: int, reason: str, by: User, at: datetime, token: str
) -> Print:
    """Note that some labels of a printing are printed again under the numbers they had.

    `first` is the place of the first in that printing, from 1 on. They count as issued: what the
    jam spoiled is counted as spoiled. Raises ActionRefused for places that it did not have.
    """
    if check_idempotency(
        token, "print again", printed=printed, first=first, count=count, reason=reason
    ):
        return Print.objects.get(token=token)
    if not reason.strip():
        raise ActionRefused("Say what became of the labels before.", field="reason")
    if first < 1 or count < 1 or first + count - 1 > printed.count:
        raise ActionRefused(f"That printing had labels 1 to {printed.count}.", field="count")
    again = Print(
        lot=printed.lot, kind=printed.kind, count=count, layout=printed.layout,
        market=printed.market, version=printed.version, best_before=printed.best_before,
        text=printed.text, at=at, by=by, reason=reason.strip(), token=token,
        numbered=printed.numbered, first_number=printed.first_number + first - 1,
        again_of=printed,
    )  # fmt: skip
    paper_of(again)  # what cannot be printed is not noted
    again.save()
    return again
