"""What a spoon test or a substitute asks for: other weights, and what they do."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from workshop.core.errors import ActionRefused
from workshop.core.formatting import number, with_unit
from workshop.kettle.adjustments.kettle_contents import KettleContents
from workshop.kettle.models import BatchLine
from workshop.rules.errors import RuleError
from workshop.rules.kettle.adjust import addition_for_share_g
from workshop.rules.quantities.units import Exact, round_to


@dataclass(frozen=True)
class AdjustedWeights:
    """Weights of the melt's lines before and after, by the key of the line."""

    line: BatchLine
    add_g: Decimal
    before_g: dict[int, Decimal]
    aims_g: dict[int, Decimal]

    @property
    def aim_g(self) -> Decimal:
        return self.aims_g[self.line.pk]

    def share_percent(self, line: BatchLine, *, after: bool = True) -> Decimal:
        weights = self.aims_g if after else self.before_g
        share = Fraction(weights[line.pk]) / Fraction(sum(weights.values()))
        return round_to(100 * share, Decimal("0.01"))


def final_g(melt: KettleContents) -> dict[int, Decimal]:
    """What the kettle holds once every line has come to its target; what is over stays over."""
    weights = {}
    for row, line in zip(melt.rows, melt.lines, strict=True):
        to_come = Decimal(0) if row.line.is_done else row.line.to_go_g
        weights[row.line.pk] = _decimal(line.in_kettle_g) + to_come
    return melt.with_apart(weights)


def _decimal(grams: Exact) -> Decimal:
    return round_to(grams, Decimal("0.001"))


def adjustment(
    melt: KettleContents, line: BatchLine, points: Decimal, adding: BatchLine
) -> AdjustedWeights:
    """How much of `adding` changes the share of `line` by so many percentage points.

    Raises ActionRefused when it cannot, or the kettle cannot hold it.
    """
    before = final_g(melt)
    total = sum(before.values(), Decimal(0))
    if not total:
        raise ActionRefused("There is nothing in the kettle yet.")
    now = Fraction(before[line.pk]) / Fraction(total)
    inside = 1 if adding.pk == line.pk else 0
    try:
        exact = addition_for_share_g(total, now, now + Fraction(points) / 100, inside)
    except RuleError as error:
        raise ActionRefused(str(error), field="points") from error
    row = next(row for row in melt.rows if row.line.pk == adding.pk)
    add = round_to(exact, row.scale.division_g)
    if not add:
        raise ActionRefused(
            f"That is less than {row.scale} can show, steps of "
            f"{number(row.scale.division_g)} g. Ask for a larger change.",
            field="points",
        )
    return _changed(melt, row.line, before, add)


def proportion(melt: KettleContents, line: BatchLine, ratio: Decimal) -> AdjustedWeights:
    """The weights once `ratio` parts of a substitute stand in for each part of a line."""
    row = next(row for row in melt.rows if row.line.pk == line.pk)
    if row.line.taken_g:
        raise ActionRefused(
            f"{row.line.item} is partly in already. Its target stays; a substitute goes in one "
            "for one."
        )
    before = final_g(melt)
    add = round_to(row.line.aim_g * (ratio - 1), row.scale.division_g)
    return _changed(melt, row.line, before, add)


def _changed(
    melt: KettleContents, line: BatchLine, before: dict[int, Decimal], add: Decimal
) -> AdjustedWeights:
    after = {**before, line.pk: before[line.pk] + add}
    total, capacity = sum(after.values(), Decimal(0)), melt.batch.kettle.capacity_g
    if total > capacity:
        raise ActionRefused(
            f"With {with_unit(add, 'g')} more of {line.item} there would be "
            f"{with_unit(total, 'g')} in a kettle that holds {with_unit(capacity, 'g')}."
        )
    return AdjustedWeights(line, add, before, after)
