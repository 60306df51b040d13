"""What was done at the bench, as it is told, checked against the book and posted."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Required, TypedDict

from workshop.core.models import User
from workshop.core.saving.form_sent_twice import other_content
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Operation, ShedKind, Side
from workshop.packing.queries import inputs_of
from workshop.packing.run_figures import Lost, Packing, short_of, split_losses


class Figures(TypedDict, total=False):
    """What was done at the bench, as `pack` and `finish` are told it."""

    units: Required[int]
    bulk: Required[Sequence[tuple[Lot, Decimal]]]
    containers: Required[Sequence[tuple[Lot, int]] | Sequence[tuple[Lot, Decimal]]]
    made_on: Required[date]
    spoiled: int
    confirmed: bool
    is_short: bool
    short_why: str
    others: Sequence[tuple[Lot, Decimal]]
    spill_g: Decimal | None
    spill_why: str
    sample_g: Decimal | None
    sample_why: str
    retained: int | None
    retained_at: str


def packing_of(figures: Figures) -> Packing:
    lost = (
        Lost(ShedKind.SPILLED, figures.get("spill_g") or Decimal(0), figures.get("spill_why", "")),
        Lost(
            ShedKind.SAMPLED, figures.get("sample_g") or Decimal(0), figures.get("sample_why", "")
        ),
    )
    bulk, containers, others = _locked(
        figures["bulk"], figures["containers"], figures.get("others", ())
    )
    return Packing(
        figures["units"],
        bulk,
        containers,
        figures.get("spoiled", 0),
        figures["made_on"],
        others=others,
        losses=tuple(one for one in lost if one.grams),
        retained=figures.get("retained") or 0,
        retained_at=figures.get("retained_at", ""),
        confirmed=figures.get("confirmed", False),
        is_short=figures.get("is_short", False),
        short_why=figures.get("short_why", ""),
    )


def _locked(*groups: Iterable[tuple[Lot, Decimal | int]]) -> list[dict[Lot, Decimal]]:
    """What is taken of each lot, group by group, their status kept from changing meanwhile.

    All are locked at once and in one order, so that two runs cannot wait for each other.
    """
    sums = [_summed(rows) for rows in groups]
    wanted = {pk for taken in sums for pk in taken}
    lots = Lot.objects.select_for_update(of=("self",)).select_related("item").order_by("pk")
    locked = list(lots.filter(pk__in=wanted))
    return [{lot: taken[lot.pk] for lot in locked if lot.pk in taken} for taken in sums]


def _summed(rows: Iterable[tuple[Lot, Decimal | int]]) -> dict[int, Decimal]:
    taken: dict[int, Decimal] = {}
    for lot, quantity in rows:
        if quantity:
            taken[lot.pk] = taken.get(lot.pk, Decimal(0)) + Decimal(quantity)
    return taken


def packed_before(operation: Operation, done: Packing) -> Lot:
    taken: dict[Lot, Decimal] = {}
    for posting in inputs_of(operation):
        taken[posting.lot] = taken.get(posting.lot, Decimal(0)) + posting.moved
    made = operation.postings.effective().select_related("lot__item").filter(side=Side.OUT).first()
    if made is None or taken != done.taken or made.moved != Decimal(done.units):
        raise other_content()
    return made.lot


def post_all(operation: Operation, done: Packing, lot: Lot, *, by: User, at: datetime) -> None:
    """What the run took, what of the bulk it lost, and what it made."""
    short = short_of(done)
    for source, quantity in done.taken.items():
        why_short = f"Below zero: {done.short_why.strip()}"[:300] if source in short else ""
        ledger.post(operation, source, Side.IN, quantity, by=by, at=at, reason=why_short)
    for why, source, quantity in split_losses(done):
        ledger.shed(
            operation, why.kind, quantity, lot=source, by=by, at=at, reason=why.why.strip()[:300]
        )
    ledger.post(operation, lot, Side.OUT, Decimal(done.units), by=by, at=at)
