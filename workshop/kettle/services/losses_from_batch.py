"""Say what left a batch without being poured: strained out, evaporated, left on the kettle …"""

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.formatting import with_unit
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.core.saving.new_tokens import derive_key
from workshop.kettle.models import Batch, BatchLine, Weighing
from workshop.kettle.services.batch_state import left_g, lock, put_out_g, taken_g
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Shed, ShedKind

NOTHING = Decimal(0)
# By the key of a batch line, what its marc weighed; None where nobody weighed it.
Marcs = Mapping[int, Decimal | None]


def unexplained_g(batch: Batch) -> Decimal:
    """What went in, was not poured, and is not said to have left."""
    return taken_g(batch) - put_out_g(batch) - left_g(batch)


@transaction.atomic
def say_left(
    batch: Batch,
    kind: ShedKind,
    grams: Decimal | None,
    *,
    is_estimated: bool = False,
    line: BatchLine | None = None,
    note: str = "",
    by: User,
    at: datetime,
    token: str,
) -> list[Shed]:
    """Record what left an open batch, never more than nobody has explained yet.

    Without grams it is estimated by the formula's own figures, which know the marc of a line that
    is strained out, and what stays on the kettle.
    """
    check_idempotency(token, "left", batch=batch, kind=str(kind), grams=grams, line=line, note=note)
    batch = lock(batch.pk)
    known = Shed.objects.filter(token__in=[token, derive_key(token, 0)], operation=batch.operation)
    if known.exists():
        return list(Shed.objects.filter(operation=batch.operation, at=known[0].at))
    if kind == ShedKind.STRAINED:
        return [*_strained(batch, line, grams, by=by, at=at, token=token)]
    rest = unexplained_g(batch)
    if grams is None:
        if kind != ShedKind.FILM:
            raise ActionRefused("Weigh it, or say about how much it was.", field="grams")
        grams = min(round(taken_g(batch) * batch.expected_loss / 100, 3), max(rest, NOTHING))
        is_estimated = True
    _refuse_more(batch, grams, rest)
    row = ledger.shed(
        batch.operation,
        kind,
        grams,
        is_estimated=is_estimated,
        reason=note,
        by=by,
        at=at,
        token=token,
    )
    return [row]


def _refuse_more(batch: Batch, grams: Decimal, rest: Decimal) -> None:
    if grams > rest:
        raise ActionRefused(
            f"Of what went into {batch}, {with_unit(max(rest, NOTHING), 'g')} is not accounted "
            f"for, so {with_unit(grams, 'g')} cannot have left. Weigh it again, or correct what "
            "was recorded before.",
            field="grams",
        )


def _strained(
    batch: Batch,
    line: BatchLine | None,
    grams: Decimal | None,
    *,
    by: User,
    at: datetime,
    token: str,
) -> list[Shed]:
    if line is None or line.batch_id != batch.pk or not line.is_strained_out:
        raise ActionRefused("Choose the line that was strained out.", field="line")
    lots = lots_of(line)
    if not lots:
        raise ActionRefused(f"No {line.item} was weighed in.", field="line")
    if any(lot in strained_lots(batch) for lot in lots):
        raise ActionRefused(
            f"{line.item} is recorded as strained out already; take that back first.", field="line"
        )
    rest = unexplained_g(batch)
    if grams is not None:
        _refuse_more(batch, grams, rest)
    return _strain(batch, line, lots, grams, rest, by=by, at=at, token=token)


def _strain(
    batch: Batch,
    line: BatchLine,
    lots: list[Lot],
    grams: Decimal | None,
    rest: Decimal,
    *,
    by: User,
    at: datetime,
    token: str,
) -> list[Shed]:
    """One marc of one line; not weighed it is as the formula says, and no more than there is."""
    formula_line = line.formula_line
    assert formula_line is not None  # noqa: S101 -- only a line of the formula is strained out
    went_in = sum((row.posting.moved for row in _readings(line, lots)), NOTHING)
    marc = min(formula_line.marc_g(went_in), max(rest, NOTHING)) if grams is None else grams
    return ledger.strain_out(
        batch.operation,
        lots,
        marc,
        stays=formula_line.stays,
        is_estimated=grams is None,
        by=by,
        at=at,
        token=derive_key(token, 0)[:60],
    )


def _readings(line: BatchLine, lots: list[Lot]) -> list[Weighing]:
    rows = Weighing.objects.effective().filter(line=line, posting__lot__in=lots)
    return list(rows.select_related("posting"))


def lots_of(line: BatchLine) -> list[Lot]:
    """What stands as weighed in for a line."""
    weighed = Weighing.objects.effective().filter(line=line).values("posting__lot")
    return list(Lot.objects.filter(pk__in=weighed).select_related("item").order_by("pk"))


def strained_lots(batch: Batch) -> set[Lot]:
    rows = Shed.objects.effective().filter(operation=batch.operation, kind=ShedKind.STRAINED)
    return {row.lot for row in rows.select_related("lot") if row.lot}


def strain_what_is_due(
    batch: Batch, marcs: Marcs, *, poured: Decimal = NOTHING, by: User, at: datetime, token: str
) -> None:
    """Each line that is strained out, and was not yet: with its marc, or with the formula's figure.

    At the pour and after it nothing of such a line may count as being in what was poured.
    """
    done = strained_lots(batch)
    lines = batch.lines.filter(formula_line__is_strained_out=True)
    for line in lines.select_related("item", "formula_line"):
        lots = [lot for lot in lots_of(line) if lot not in done]
        if not lots:
            continue
        rest = unexplained_g(batch) - poured
        marc = marcs.get(line.pk)
        if marc is not None and marc > rest:
            raise ActionRefused(
                f"{line.item}: a marc of {with_unit(marc, 'g')} and what was poured are more than "
                "went in. Weigh both again, without their vessels.",
                field=f"marc-{line.pk}",
            )
        part = derive_key(token, 1000 + line.pk)
        _strain(batch, line, lots, marc, rest, by=by, at=at, token=part)


@transaction.atomic
def take_left_back(row: Shed, *, reason: str, by: User, at: datetime, token: str) -> Shed:
    """Take back what was said to have left an open batch."""
    check_idempotency(token, "left, taken back", row=row, reason=reason)
    batch = lock(row.operation.batch.pk)
    if row.kind == ShedKind.STRAINED and batch.operation.lots.exists():
        return _marc_again(batch, row, reason=reason, by=by, at=at, token=token)
    return ledger.take_shed_back(row, by=by, at=at, reason=reason[:300], token=token)


def _marc_again(
    batch: Batch, row: Shed, *, reason: str, by: User, at: datetime, token: str
) -> Shed:
    """Once poured the herb stays strained out; its marc then counts as not weighed."""
    back = ledger.take_shed_back(row, by=by, at=at, reason=reason[:300], token=token)
    strain_what_is_due(batch, {}, by=by, at=at, token=token)
    return back
