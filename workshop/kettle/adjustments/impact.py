"""What a change of the weights does: each share, the ingredient list, the organic share, limits."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

from django.utils import timezone

from workshop.core.errors import ActionRefused
from workshop.core.models import Workshop
from workshop.goods_in.lot_composition import compositions_of
from workshop.kettle.adjustments.use_limits import (
    Bounds,
    LimitCheck,
    LimitRow,
    Melted,
    Weights,
    bounds_of,
    use_of,
)
from workshop.kettle.models import Batch, BatchLine, Weighing
from workshop.kettle.weighing.screen import ScreenLine
from workshop.ledger.models import Lot
from workshop.materials.ingredients import Shares, shares_of_profile
from workshop.materials.models import profile_of
from workshop.materials.saponification import Soap
from workshop.rules.errors import RuleError
from workshop.rules.ingredients.composition import compose, extract_of
from workshop.rules.ingredients.declaration import Market
from workshop.rules.kettle.adjust import changes

NOTHING_ELSE = "The ingredient list, the organic share and the limits stay as they are."


@dataclass(frozen=True)
class Effect:
    """What a change does, in sentences, and every limit with its share before and after."""

    sentences: list[str]
    limits: list[LimitRow] = field(default_factory=list)


@dataclass(frozen=True)
class Effects:
    """What is known of each line, to tell what other weights would do."""

    shares_of: Mapping[int, Shares]
    market: Market
    bounds: Bounds
    # What a line leaves that is strained out again, by its key.
    stays: Mapping[int, Shares] = field(default_factory=dict)

    def told(self, before: Weights, after: Weights) -> list[str]:
        """What a change of the weights does in sentences, what goes beyond a limit last."""
        return self.effect(before, after).sentences

    def effect(
        self,
        before: Weights,
        after: Weights,
        *,
        line: BatchLine | None = None,
        lot: Lot | None = None,
    ) -> Effect:
        """What a change of the weights does; with a lot, once `line` is made of it alone."""
        later = self.with_lot(line, lot) if line and lot else self
        try:
            was, becomes = self.melted(before), later.melted(after)
            change = changes(was.composition, becomes.composition, market=self.market)
        except RuleError as error:
            return Effect([str(error)])
        held = LimitCheck(self.bounds, later.bounds, was, becomes)
        told = [*change.sentences, *held.sentences()] or [NOTHING_ELSE]
        lye = Soap(becomes.composition).told(Soap(was.composition))
        return Effect([*told, *lye], held.rows())

    def with_lot(self, line: BatchLine, lot: Lot) -> "Effects":
        shares = compositions_of([lot])[lot.pk]
        return replace(
            self,
            shares_of={**self.shares_of, line.pk: shares},
            bounds=self.bounds.with_lot(line.pk, lot),
        )

    def melted(self, weights: Weights) -> Melted:
        parts = (
            (Decimal(0), self.stays[pk]) if pk in self.stays else (grams, self.shares_of[pk])
            for pk, grams in weights.items()
            if grams
        )
        return Melted(compose(parts), weights)


def effects_of(batch: Batch, rows: Iterable[ScreenLine]) -> Effects:
    """Read what every line is made of: the lots that went in, else the lot of its own that is next.

    Raises ActionRefused, with a sentence, when something has no ingredient profile.
    """
    rows, today = list(rows), timezone.localdate()
    taken = _taken(batch)
    lots = {row.line.pk: taken.get(row.line.pk) or _next_of_its_own(row) for row in rows}
    known = compositions_of({lot.pk: lot for parts in lots.values() for lot, _ in parts}.values())
    workshop = Workshop.objects.first()
    shares = {row.line.pk: _shares(row, lots[row.line.pk], known, today) for row in rows}
    return Effects(
        shares,
        str(workshop.market) if workshop else "US",
        bounds_of(use_of(batch), {row.line.pk: row.line.item for row in rows}, lots, on=today),
        {
            row.line.pk: extract_of(row.line.formula_line.stays, shares[row.line.pk])
            for row in rows
            if row.line.formula_line and row.line.is_strained_out
        },
    )


def _taken(batch: Batch) -> dict[int, list[tuple[Lot, Decimal]]]:
    readings = Weighing.objects.effective().filter(line__batch=batch)
    parts: dict[int, list[tuple[Lot, Decimal]]] = defaultdict(list)
    for reading in readings.select_related("posting__lot"):
        parts[reading.line_id].append((reading.posting.lot, reading.posting.moved))
    return parts


def _next_of_its_own(row: ScreenLine) -> list[tuple[Lot, Decimal]]:
    """The lot that would go in: one of the line's own item, or of any if the item is unknown."""
    is_own = row.lot and row.lot.item_id == row.line.item_id
    if row.lot and (is_own or profile_of(row.line.item) is None):
        return [(row.lot, Decimal(1))]
    return []


def _shares(
    row: ScreenLine,
    parts: list[tuple[Lot, Decimal]],
    known: Mapping[int, Shares],
    today: date,
) -> Shares:
    if parts:
        return compose((grams, known[lot.pk]) for lot, grams in parts)
    profile = profile_of(row.line.item)
    if profile is None:
        raise ActionRefused(
            f"No lot of {row.line.item} is on the book and it has no ingredient profile, so what "
            "it does to the label cannot be determined."
        )
    return shares_of_profile(profile, on=today, is_covered=profile.is_organic)
