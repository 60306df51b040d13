"""Labels are printed, or refused for what stops them; the log keeps what they said.

What stops one: `labels/approval/print_status.py`.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Sum
from django.utils import timezone

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency, other_content
from workshop.core.saving.new_tokens import new_token
from workshop.labels.approval.print_status import LabelStatus, label_status
from workshop.labels.content.label import Label as Label
from workshop.labels.content.label import label_for as label_for
from workshop.labels.layout.fit_to_label import fits
from workshop.labels.layout.label_stock import ALL, BY_KEY, DEFAULT, Layout, layout_of
from workshop.labels.models import LabelCount, Print, PrintKind
from workshop.labels.printing.printed_sheet import sheet_of
from workshop.labels.printing.reconciliation import balance_of
from workshop.labels.printing.sheet_imposition import MOST_LABELS
from workshop.ledger.models import Lot
from workshop.rules.labels.truth_check import STICKER_HEADING


@dataclass(frozen=True)
class Noted:
    """A printing as the log has it, and the label that was checked for it."""

    printed: Print
    standing: LabelStatus


def issued_numbers(lot: Lot) -> int:
    """How many labels of a lot were issued, those printed again under their numbers once."""
    rows = lot.prints.filter(kind=PrintKind.LABEL, again_of=None)
    return rows.aggregate(all=Sum("count"))["all"] or 0


def log_print(lot: Lot, count: int, *, by: User, at: datetime, **order: Any) -> Print:
    """Note a printing as `note_print` does, and answer with its row in the log."""
    return note_print(lot, count, by=by, at=at, **order).printed


@transaction.atomic
def note_print(
    lot: Lot,
    count: int,
    *,
    by: User,
    at: datetime,
    reason: str = "",
    layout: Layout = DEFAULT,
    token: str | None = None,
    market: str | None = None,
    kind: str = PrintKind.LABEL,
    first_sscc: Callable[[Label], str] = lambda _: "",
    numbered: bool = False,
    first_cell: int = 1,
    spoiled_cells: frozenset[int] = frozenset(),
) -> Noted:
    """Note that `count` labels of a lot are printed, with the words they carry.

    `first_sscc` numbers the first of those that are cartons. The first printing needs no reason,
    every further one does. The same token again answers with the printing already noted. Raises
    ActionRefused when the label must not be printed now, also for a token noted before: what stops
    any label, or a label that does not match this lot while no owner decided.
    """
    token = token or new_token()
    lot = Lot.objects.select_for_update(of=("self",)).select_related("item").get(pk=lot.pk)
    standing = label_status(lot, market, on=timezone.localdate(at))
    _refuse_unprintable(standing, kind)
    known = Print.objects.filter(token=token).first()
    if known:
        _refuse_other_order(known, lot, count, layout, kind)
        _refuse_other_words(known, standing)
        return Noted(known, standing)
    if not 1 <= count <= MOST_LABELS:
        raise ActionRefused(f"Print from 1 to {MOST_LABELS} labels at a time.", field="count")
    before = lot.prints.filter(kind=kind, market=standing.label.market)
    if not reason.strip() and before.exists():
        raise ActionRefused(
            f"Labels of lot {lot} were printed before. Say why more are needed.", field="reason"
        )
    printed = Print.objects.create(
        lot=lot,
        kind=kind,
        count=count,
        layout=layout.key,
        market=standing.label.market,
        version=standing.version,
        best_before=standing.label.best_before if kind == PrintKind.LABEL else None,
        text=text_of(standing, kind),
        at=at,
        by=by,
        first_sscc=first_sscc(standing.label),
        reason=reason.strip(),
        numbered=numbered,
        first_number=issued_numbers(lot) + 1,
        first_cell=first_cell,
        spoiled_cells=sorted(spoiled_cells),
        token=token,
    )
    return Noted(printed, standing)


def _refuse_unprintable(standing: LabelStatus, kind: str) -> None:
    if standing.stops:
        raise ActionRefused(" ".join(standing.stops))
    if kind == PrintKind.STICKER and not standing.is_relabelled:
        raise ActionRefused("A sticker is printed once an owner has decided to relabel the lot.")


def text_of(standing: LabelStatus, kind: str) -> str:
    """The words that a printing of this kind carries."""
    label = standing.label
    if kind == PrintKind.STICKER:
        return f"{STICKER_HEADING}\n{standing.computed.declaration.text}"
    if kind == PrintKind.CARTON:
        return "\n".join(filter(None, (label.name, label.lot_line, label.date_said)))
    return label.text


def _refuse_other_order(known: Print, lot: Lot, count: int, layout: Layout, kind: str) -> None:
    asked = (lot.pk, count, layout.key, kind)
    if (known.lot_id, known.count, known.layout, known.kind) != asked:
        raise other_content()


def _refuse_other_words(known: Print, standing: LabelStatus) -> None:
    """What comes out of the printer a second time is what the log says of the first."""
    if known.text != text_of(standing, known.kind):
        raise ActionRefused(
            "The label has changed since it was printed with this form. Reload the page and say "
            "why more are needed."
        )


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
    spoiled_cells: frozenset[int] = frozenset(),
    reason: str = "",
    market: str | None = None,
    kind: str = PrintKind.LABEL,
    numbered: bool = False,
) -> Print:
    """Note a printing, whose paper the log gives out then; what cannot be printed is not noted.

    `numbered` labels go on from the number of those issued before. The same form again answers
    with the printing already noted; with other content its token is refused.
    """
    order: dict[str, Any] = {
        "lot": lot, "layout": layout, "count": count, "market": market, "kind": kind,
        "reason": reason, "numbered": numbered, "first_cell": first_cell,
        "spoiled_cells": spoiled_cells,
    }  # fmt: skip
    check_idempotency(token, "print labels", **{**order, "layout": layout.key})
    noted = note_print(**order, by=by, at=at, token=token)
    # One label is refused for all that a sheet of them would be.
    sheet_of(noted.printed, noted.standing, count=1)
    return noted.printed


def usual_layout(label: Label) -> Layout:
    """What this product was printed on last, if it has room still, or the first size that has."""
    last = Print.objects.filter(lot__item=label.lot.item_id, kind=PrintKind.LABEL).first()
    known = layout_of(last.layout) if last else None
    if known is not None and fits(label, known):
        return known
    return next((layout for layout in ALL if fits(label, layout)), BY_KEY[DEFAULT.key])


@transaction.atomic
def count_labels(
    lot: Lot,
    *,
    used: int,
    spoiled: int,
    returned: int,
    by: User,
    at: datetime,
    token: str,
    reason: str = "",
) -> LabelCount:
    """Note what became of a run's labels; the same token again answers with the first count.

    Figures below zero take back an earlier count, and need a reason. Raises ActionRefused when no
    label was issued, or when the figures together would exceed what was issued or fall below zero.
    """
    lot = Lot.objects.select_for_update(of=("self",)).select_related("item").get(pk=lot.pk)
    check_idempotency(
        token, "label count", lot=lot, used=used, spoiled=spoiled, returned=returned, reason=reason
    )
    known = LabelCount.objects.filter(token=token).first()
    if known:
        return known
    _validate_count(lot, used, spoiled, returned, reason)
    return LabelCount.objects.create(
        lot=lot, used=used, spoiled=spoiled, returned=returned, reason=reason.strip(), at=at,
        by=by, token=token,
    )  # fmt: skip


def _validate_count(lot: Lot, used: int, spoiled: int, returned: int, reason: str) -> None:
    if not (used or spoiled or returned):
        raise ActionRefused("Give at least one figure.", field="used")
    if min(used, spoiled, returned) < 0 and not reason.strip():
        raise ActionRefused(
            "A figure below zero takes back an earlier count: say why.", field="reason"
        )
    balance = balance_of(lot)
    if not balance.issued:
        raise ActionRefused(f"No label of lot {lot} was issued yet.", field="used")
    sums = (balance.used + used, balance.spoiled + spoiled, balance.returned + returned)
    if min(sums) < 0:
        raise ActionRefused("That takes back more than was counted.", field="used")
    if sum(sums) > balance.issued:
        raise ActionRefused(
            f"{balance.issued} labels of lot {lot} were issued, and these figures account for "
            f"{sum(sums)}. Count again.",
            field="used",
        )
