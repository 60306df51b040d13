"""What can happen to labels: they are printed, and the log keeps what they said."""

from datetime import datetime

from django.db import transaction

from workshop.core.errors import Refused
from workshop.core.models import User
from workshop.core.tokens import new_token
from workshop.labels.content import Label as Label
from workshop.labels.content import label_for as label_for
from workshop.labels.drawing import draw, fits
from workshop.labels.layouts import ALL, BY_KEY, DEFAULT, Layout
from workshop.labels.models import Print
from workshop.labels.sheets import MOST_LABELS, put_on_paper
from workshop.ledger.models import Lot


@transaction.atomic
def log_print(
    lot: Lot,
    count: int,
    *,
    by: User,
    at: datetime,
    reason: str = "",
    layout: Layout = DEFAULT,
    token: str | None = None,
) -> Print:
    """Note that `count` labels of a lot are printed, with the words they carry.

    The first printing needs no reason, every further one does. The same token again answers
    with the printing already noted. Raises Refused when the label must not be printed.
    """
    token = token or new_token()
    lot = Lot.objects.select_for_update(of=("self",)).select_related("item").get(pk=lot.pk)
    known = Print.objects.filter(token=token).first()
    if known:
        return _same_print(known, lot, count, layout)
    label = label_for(lot)
    if label.stops:
        raise Refused(" ".join(label.stops))
    if not 1 <= count <= MOST_LABELS:
        raise Refused(f"Print from 1 to {MOST_LABELS} labels at a time.", field="count")
    if not reason.strip() and lot.prints.exists():
        raise Refused(
            f"Labels of lot {lot} were printed before. Say why more are needed.", field="reason"
        )
    return Print.objects.create(
        lot=lot,
        count=count,
        layout=layout.key,
        text=label.text,
        at=at,
        by=by,
        reason=reason.strip(),
        token=token,
    )


def _same_print(known: Print, lot: Lot, count: int, layout: Layout) -> Print:
    if (known.lot_id, known.count, known.layout) != (lot.pk, count, layout.key):
        raise Refused("This form was already used to print something else. Reload the page.")
    return known


@transaction.atomic
def print_labels(
    lot: Lot,
    *,
    layout: Layout,
    count: int,
    by: User,
    at: datetime,
    token: str,
    first_cell: int = 1,
    reason: str = "",
) -> bytes:
    """Note a printing and answer with its PDF; a label that does not fit is not noted."""
    log_print(lot, count, by=by, at=at, reason=reason, layout=layout, token=token)
    drawn = draw(label_for(lot), layout)
    return put_on_paper(drawn.pdf, layout, count, first_cell=first_cell)


def usual_layout(label: Label) -> Layout:
    """What this product was printed on last, or the first size that has room for its label."""
    last = Print.objects.filter(lot__item=label.lot.item_id).first()
    if last and last.layout in BY_KEY:
        return BY_KEY[last.layout]
    return next((layout for layout in ALL if fits(label, layout)), DEFAULT)
