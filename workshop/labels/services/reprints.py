"""A printing fetched again, and labels printed again under the same numbers after a jam."""

from datetime import datetime

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.labels.approval.print_status import label_status
from workshop.labels.models import Print
from workshop.labels.printing.printed_sheet import sheet_of
from workshop.labels.services.printing import text_of


def paper_of(printed: Print) -> bytes:
    """The PDF of a printing in the log, as it was. Raises ActionRefused once its words changed."""
    standing = label_status(printed.lot, printed.market)
    if standing.stops:
        raise ActionRefused(" ".join(standing.stops))
    if text_of(standing, printed.kind) != printed.text:
        raise ActionRefused(
            "The label has changed since this was printed: print it again and say why."
        )
    return sheet_of(printed, standing)


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
