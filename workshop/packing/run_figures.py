"""What was done at the bench, and the figures that packing refuses. Lots: `usable_lots.py`."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal

from django.utils import timezone

from workshop.core.errors import ActionRefused
from workshop.core.formatting import number, with_unit
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, ShedKind
from workshop.packing.models import Product

MOST_UNITS = 100_000
LEAST_SHARE_OF_FILL = Decimal("0.90")
USUAL_SHARE_OF_FILL = Decimal("0.05")
# Of what a run takes: what scraping out a pot may find beyond the book. Common practice, no source.
SHARE_BELOW_ZERO = Decimal("0.05")
# The fields in which a loss and its reason are told.
LOSS_FIELDS = {ShedKind.SPILLED: "spill", ShedKind.SAMPLED: "sample"}


@dataclass(frozen=True)
class Lost:
    """Bulk that was taken and is in no unit, with what happened to it."""

    kind: ShedKind
    grams: Decimal
    why: str


@dataclass(frozen=True)
class Packing:
    """What was done at the bench: so many units, out of these lots."""

    units: int
    bulk: Mapping[Lot, Decimal]
    containers: Mapping[Lot, Decimal]
    spoiled: int
    made_on: date
    others: Mapping[Lot, Decimal] = field(default_factory=dict)
    losses: tuple[Lost, ...] = ()
    retained: int = 0
    retained_at: str = ""
    confirmed: bool = False
    is_short: bool = False
    short_why: str = ""

    @property
    def bulk_g(self) -> Decimal:
        return sum(self.bulk.values(), Decimal(0))

    @property
    def lost_g(self) -> Decimal:
        return sum((lost.grams for lost in self.losses), Decimal(0))

    @property
    def filled_g(self) -> Decimal:
        """What of the bulk went into units."""
        return self.bulk_g - self.lost_g

    @property
    def taken(self) -> dict[Lot, Decimal]:
        return {**self.bulk, **self.containers, **self.others}


def validate_figures(product: Product, done: Packing, *, at: datetime) -> None:
    if not 0 < done.units <= MOST_UNITS:
        raise ActionRefused(f"Pack from 1 to {number(Decimal(MOST_UNITS))} units.", field="units")
    if done.spoiled < 0:
        raise ActionRefused("Spoiled containers cannot be fewer than none.", field="spoiled")
    if done.made_on > timezone.localdate(at):
        raise ActionRefused("The day of packing lies in the future.", field="made_on")
    _validate_losses(done)
    _validate_retained(done)
    pieces = sum(done.containers.values(), Decimal(0))
    if pieces != done.units + done.spoiled:
        raise ActionRefused(
            f"{done.units} units and {done.spoiled} spoiled need {done.units + done.spoiled} "
            f"containers, and {number(pieces)} are entered.",
            field="spoiled",
        )
    _validate_weight(product, done)


def _validate_weight(product: Product, done: Packing) -> None:
    wanted = done.units * product.fill_g
    besides = f" besides {with_unit(done.lost_g, 'g')} spilled or sampled" if done.losses else ""
    sentence = (
        f"{done.units} units of {with_unit(product.fill_g, 'g')} hold {with_unit(wanted, 'g')}, "
        f"and {with_unit(done.filled_g, 'g')} of bulk is entered{besides}."
    )
    if done.filled_g < wanted * LEAST_SHARE_OF_FILL:
        raise ActionRefused(
            f"{sentence} That is implausibly little: correct the units or the grams.",
            field="units",
        )
    if abs(done.filled_g - wanted) > wanted * USUAL_SHARE_OF_FILL and not done.confirmed:
        raise ActionRefused(
            f"{sentence} That is more than 5 % away: correct it, or tick that it is right.",
            field="confirmed",
        )


def short_of(done: Packing) -> dict[Lot, Decimal]:
    """The bulk lots that the run takes more than a little below zero, with their shortage."""
    short = {lot: grams - ledger.on_hand(lot) for lot, grams in done.bulk.items()}
    return {
        lot: missing_g
        for lot, missing_g in short.items()
        if missing_g > done.bulk[lot] * SHARE_BELOW_ZERO
    }


def refuse_bulk_that_is_not_there(done: Packing) -> None:
    """A pot is never stopped, but a run that is over can be asked where its bulk came from."""
    short = short_of(done)
    if not short:
        return
    if not done.is_short:
        said = " ".join(
            f"Lot {lot} is {with_unit(missing_g, 'g')} short: the book knows of "
            f"{with_unit(done.bulk[lot] - missing_g, 'g')}, and {with_unit(done.bulk[lot], 'g')} "
            "are entered."
            for lot, missing_g in short.items()
        )
        raise ActionRefused(
            f"{said} Correct the lot or the grams, or tick that it was there and say why.",
            field="is_short",
        )
    if not done.short_why.strip():
        raise ActionRefused("Say how there can be more than the book knows of.", field="short_why")


def _validate_losses(done: Packing) -> None:
    for lost in done.losses:
        field = LOSS_FIELDS[lost.kind]
        if lost.grams < 0:
            raise ActionRefused("It cannot be less than nothing.", field=f"{field}_g")
        if not lost.why.strip():
            raise ActionRefused("Say what happened to it.", field=f"{field}_why")


def _validate_retained(done: Packing) -> None:
    if not 0 <= done.retained <= done.units:
        raise ActionRefused("Keep back from none to all of the units.", field="retained")
    if done.retained and not done.retained_at.strip():
        raise ActionRefused("Say where the samples are kept.", field="retained_at")


def split_losses(done: Packing) -> list[tuple[Lost, Lot, Decimal]]:
    """What of which bulk lot was lost, the largest first."""
    left = dict(done.bulk)
    parts: list[tuple[Lost, Lot, Decimal]] = []
    for lost in done.losses:
        to_go = lost.grams
        for lot in sorted(left, key=lambda lot: -left[lot]):
            part = min(to_go, left[lot])
            if part:
                parts.append((lost, lot, part))
                left[lot] -= part
                to_go -= part
    return parts


def lot_field(lot: Lot) -> str:
    """The name of the form field that says how much of `lot` is taken."""
    return f"lot_{lot.pk}"
