"""When a soap is ready by its formula, whether its lye is bound, and until when it keeps."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from workshop.core.formatting import day
from workshop.formulas.models import Version
from workshop.goods_in.lot_composition import leaf_composition
from workshop.kettle.models import Batch
from workshop.kettle.weighing.weighed_superfat import soap_in
from workshop.ledger.models import Lot, Side, Status
from workshop.materials.models import profile_of
from workshop.materials.saponification import bindings_of, is_lye, is_used_up
from workshop.rules.dates.calendar_days import add_months, ready_on

DOES_NOT_BIND = (
    "In a soap the dates of water, lye and the fats that are saponified do not count; those of "
    "everything else do."
)


def batch_of(lot: Lot) -> Batch | None:
    """The batch that a lot was poured from, if it was."""
    return getattr(lot.origin, "batch", None)


def ready_day(lot: Lot) -> date | None:
    """The first day on which a lot that cures may be released and packed; None for others."""
    batch = batch_of(lot)
    cure_days = batch.version.cure_days if batch else None
    return ready_on(lot.made_on, cure_days) if cure_days else None


def why_unsafe(lot: Lot) -> str:
    """Why nobody may release or pack a bulk lot for the sake of its lye; empty if one may."""
    batch = batch_of(lot)
    soap = soap_in(batch) if batch else None
    if soap is not None and soap.refusal:
        return (
            f"Lot {lot}: {soap.refusal} Correct the weighings or the saponification values,"
            " or reject it."
        )
    return ""


def is_rebatched(version: Version, lot: Lot) -> bool:
    """Whether a soap that still waits is worked into another one, which cures anew.

    So it need not be released first; what is on hold or rejected is not decided so.
    """
    batch = batch_of(lot)
    cures_anew = bool(version.cure_days and batch and batch.version.cure_days)
    return cures_anew and lot.status == Status.QUARANTINE


@dataclass(frozen=True)
class DateReason:
    """One thing that limits how long a bulk keeps; the earliest is the limit."""

    text: str
    day: date


def date_reasons(batch: Batch, lot: Lot) -> list[DateReason]:
    """Why a poured lot has its date, the earliest first."""
    months = batch.version.shelf_life_months
    made = DateReason(
        f"made on {day(lot.made_on)}, keeps {months} months", add_months(lot.made_on, months)
    )
    used = [
        DateReason(f"lot {one} of {one.item}", one.best_before)
        for one in lots_that_bind(batch)
        if one.best_before
    ]
    return sorted([made, *used], key=lambda reason: reason.day)


def lots_that_bind(batch: Batch) -> list[Lot]:
    """Those weighed in whose date limits what was made: in a soap not what is used up in it."""
    return binding_among(list(_consumed(batch)))


def binding_among(lots: list[Lot]) -> list[Lot]:
    """Of lots that go into one melt, those whose date limits how long it keeps."""
    if not any(_is_lye(lot) for lot in lots):
        return lots
    bought = leaf_composition(lot for lot in lots if profile_of(lot.item))
    known = bindings_of(part.inci_name for shares in bought.values() for part in shares)
    return [
        lot
        for lot in lots
        if lot.pk not in bought or not all(is_used_up(part, known) for part in bought[lot.pk])
    ]


def used_up_in(batch: Batch) -> set[int]:
    """The keys of the lots weighed in whose date does not limit what was made."""
    return {lot.pk for lot in _consumed(batch)} - {lot.pk for lot in lots_that_bind(batch)}


def _consumed(batch: Batch) -> Iterable[Lot]:
    lots = Lot.objects.filter(
        postings__operation=batch.operation,
        postings__side=Side.IN,
        postings__corrects=None,
        postings__reversal=None,
    )
    return lots.select_related("item__profile").order_by("pk").distinct()


def _is_lye(lot: Lot) -> bool:
    profile = profile_of(lot.item)
    return profile is not None and is_lye(profile)
