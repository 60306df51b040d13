"""Whether the lye fits the fats of a batch: as planned, as it will be, as it was weighed."""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal

from workshop.core.errors import ActionRefused
from workshop.formulas.soap.planned_superfat import Contents, Part, soap_from
from workshop.goods_in.lot_composition import compositions_of
from workshop.kettle.models import Batch, BatchLine, Kettle, Weighing
from workshop.ledger.models import Item, ItemKind, Lot
from workshop.materials.ingredients import Shares
from workshop.materials.models import Profile
from workshop.materials.saponification import Soap, of_lye
from workshop.rules.ingredients.composition import compose
from workshop.rules.soap.lye import ATTACKED

Moved = list[tuple[Lot, Decimal]]
# A reading that is not written yet: its line, lot and grams.
More = tuple[BatchLine, Lot, Decimal]


def in_the_kettle(batch: Batch) -> Shares:
    """What was really weighed in, as shares of the whole; empty before anything was.

    Raises ActionRefused when something of it has no ingredient profile.
    """
    moved = _moved(batch)
    return _mixed(moved, {}) if moved else {}


def _moved(batch: Batch) -> Moved:
    readings = Weighing.objects.effective().filter(line__batch=batch).select_related("posting__lot")
    return [(row.posting.lot, row.posting.moved) for row in readings.order_by()]


def _mixed(moved: Moved, to_come: Mapping[Item, Decimal]) -> Shares:
    known = compositions_of({lot.pk: lot for lot, _ in moved}.values())
    bought = Contents(to_come).shares() if to_come else {}
    return compose(
        [
            *((grams, known[lot.pk]) for lot, grams in moved),
            *((grams, bought[item.pk]) for item, grams in to_come.items()),
        ]
    )


def soap_in(batch: Batch) -> Soap | None:
    """The batch as weighed so far, if there is lye in it; other batches cost one query."""
    lines = batch.lines.all()
    has_lye = lines.filter(of_lye("item__profile__")).exists()
    if not has_lye and not lines.filter(item__kind=ItemKind.BULK).exists():
        return None
    try:
        soap = Soap(in_the_kettle(batch))
    except ActionRefused as error:
        return Soap({}, unclear=error.message) if has_lye else None
    return soap if soap.alkali else None


def soap_to_be(batch: Batch, lines: Iterable[BatchLine], *more: More) -> Soap | None:
    """The batch once all is in: what was weighed, `more`, and what its lines are still to get.

    The lines are as if read `with_taken`.
    """
    to_come: dict[Item, Decimal] = {}
    for line in lines:
        taken = line.taken_g + sum(grams for to, _, grams in more if to.pk == line.pk)
        if line.is_planned and taken < line.low_g:
            to_come[line.item] = to_come.get(line.item, Decimal(0)) + line.aim_g - taken
    moved = [*_moved(batch), *((lot, grams) for _, lot, grams in more)]
    if not moved and not to_come:
        return None
    try:
        soap = Soap(_mixed(moved, to_come))
    except ActionRefused as error:
        return Soap({}, unclear=error.message)
    return soap if soap.alkali else None


def refuse_lye_planned(parts: Sequence[Part], kettle: Kettle) -> None:
    """Refuse a plan that would leave lye over, or put it where it eats the kettle."""
    soap = soap_from(parts)
    if soap is None:
        return
    if soap.refusal:
        raise ActionRefused(soap.refusal, field="version")
    if not kettle.material:
        raise ActionRefused(
            f"There is lye in this formula, and nobody has entered what {kettle} is made of. An "
            "owner enters it under Kettles and scales.",
            field="kettle",
        )
    _refuse_attacked(kettle)


def refuse_lye_weighed(line: BatchLine, lot: Lot, reading_g: Decimal) -> None:
    """Refuse a reading of lye that the fats in the kettle and still to come may not bind.

    Whatever is no lye costs one query.
    """
    if not Profile.objects.filter(of_lye(), item=lot.item_id).exists():
        return
    batch = line.batch
    _refuse_attacked(batch.kettle)
    lines = batch.lines.with_taken().select_related("item")
    soap = soap_to_be(batch, lines, (line, lot, reading_g))
    if soap is not None and soap.refusal:
        raise ActionRefused(
            f"{soap.refusal} Weigh less lye, or more fat before it.", field="reading_g"
        )


def _refuse_attacked(kettle: Kettle) -> None:
    if kettle.material in ATTACKED:
        raise ActionRefused(
            f"{kettle} is made of {kettle.material}: lye eats it and gives off hydrogen, which "
            "can catch fire. Take a vessel of stainless steel or HDPE.",
            field="kettle",
        )
