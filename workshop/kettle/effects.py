"""What a change of the weights does: each share, the ingredient list, the organic share, limits."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import cast

from workshop.core.errors import Refused
from workshop.core.models import Workshop
from workshop.goods_in.composition import Shares, compositions_of, shares_of_profile
from workshop.goods_in.models import profile_of
from workshop.kettle.models import Batch, BatchLine, SkinLimit, Weighing
from workshop.kettle.screen import ScreenLine
from workshop.ledger.models import Lot
from workshop.rules.adjust import Limit, changes
from workshop.rules.composition import compose
from workshop.rules.declaration import Market
from workshop.rules.errors import RuleError
from workshop.rules.units import Exact

NOTHING_ELSE = "The ingredient list, the organic share and the limits stay as they are."
Weights = Mapping[int, Exact]  # grams (or shares) by the key of the batch line


@dataclass(frozen=True)
class Effects:
    """What is known of each line, to tell what other weights would do."""

    shares_of: Mapping[int, Shares]
    market: Market
    limits: tuple[Limit, ...]

    def told(self, before: Weights, after: Weights) -> list[str]:
        """What a change of the weights does in sentences, what goes beyond a limit last."""
        return self._told(self, before, after)

    def told_with(self, line: BatchLine, lot: Lot, before: Weights, after: Weights) -> list[str]:
        """The same, with one line made of `lot` alone afterwards."""
        shares = compositions_of([lot])[lot.pk]
        later = replace(self, shares_of={**self.shares_of, line.pk: shares})
        return self._told(later, before, after)

    def _told(self, later: "Effects", before: Weights, after: Weights) -> list[str]:
        try:
            change = changes(
                self.mixture(before),
                later.mixture(after),
                market=self.market,
                limits=self.limits,
            )
        except RuleError as error:
            return [str(error)]
        if not change.sentences and not change.limit_problems:
            return [NOTHING_ELSE]
        return [*change.sentences, *change.limit_problems]

    def mixture(self, weights: Weights) -> Shares:
        return compose((grams, self.shares_of[pk]) for pk, grams in weights.items() if grams)


def effects_of(batch: Batch, rows: Iterable[ScreenLine]) -> Effects:
    """Read what every line is made of: the lots that went in, else the lot of its own that is next.

    Raises Refused, with a sentence, when something has no ingredient profile.
    """
    rows = list(rows)
    taken = _taken(batch)
    lots = {lot.pk: lot for parts in taken.values() for lot, _ in parts}
    lots |= {row.lot.pk: row.lot for row in rows if row.lot and row.line.pk not in taken}
    known = compositions_of(lots.values())
    workshop = Workshop.objects.first()
    return Effects(
        {row.line.pk: _shares(row, taken.get(row.line.pk, []), known) for row in rows},
        cast(Market, workshop.market if workshop else "US"),
        tuple(_limits(rows)),
    )


def _taken(batch: Batch) -> dict[int, list[tuple[Lot, Decimal]]]:
    readings = Weighing.objects.standing().filter(line__batch=batch)
    parts: dict[int, list[tuple[Lot, Decimal]]] = defaultdict(list)
    for reading in readings.select_related("posting__lot"):
        parts[reading.line_id].append((reading.posting.lot, reading.posting.moved))
    return parts


def _shares(
    row: ScreenLine, parts: list[tuple[Lot, Decimal]], known: Mapping[int, Shares]
) -> Shares:
    if parts:
        return compose((grams, known[lot.pk]) for lot, grams in parts)
    profile = profile_of(row.line.item)
    if row.lot and (profile is None or row.lot.item_id == row.line.item_id):
        return known[row.lot.pk]
    if profile is None:
        raise Refused(
            f"No lot of {row.line.item} is on the book and it has no ingredient profile, so what "
            "it does to the label cannot be told."
        )
    return shares_of_profile(profile, is_covered=profile.is_organic)


def _limits(rows: Iterable[ScreenLine]) -> Iterable[Limit]:
    """The limits of what may be in the kettle, each counted under its INCI name."""
    items = {lot.item for row in rows for lot in row.proposal.choices}
    items |= {row.line.item for row in rows}
    for limit in SkinLimit.objects.filter(item__in=items).select_related("item__profile"):
        profile = profile_of(limit.item)
        if profile:
            yield Limit(limit.item.name, Fraction(limit.most) / 100, {profile.inci_name: 1})
