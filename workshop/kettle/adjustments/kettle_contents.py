"""What is in the kettle and what is meant to be, as the rules of rebalancing read it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction
from hashlib import sha256

from workshop.kettle.models import MEANT, Batch, BatchLine, TargetChange, Weighing
from workshop.kettle.weighing.safety_cautions import said_once
from workshop.kettle.weighing.screen import Screen, ScreenLine, screen_of
from workshop.rules.kettle.rebalance import KettleLine
from workshop.rules.soap.lye import CAUTIONS

# From memory: each fat binds its own amount of lye.
FREE_LYE = (
    "There is lye in this formula: another weight of any fat leaves another amount of lye free. "
    "Look at the superfat, which counts the alkali as pure; saponification values vary by lot. "
    "Have a qualified person look at it before anything is changed."
)


@dataclass(frozen=True)
class KettleContents:
    """What is in the kettle and what is meant to be, as the rules of rebalancing read it."""

    batch: Batch
    rows: list[ScreenLine]
    lines: list[KettleLine]
    apart: list[ScreenLine] = field(default_factory=list)
    last: Weighing | None = None

    @property
    def apart_g(self) -> Decimal:
        """What was added unplanned and is no part of the formula's shares."""
        return sum((row.line.taken_g for row in self.apart), Decimal(0))

    @property
    def room_g(self) -> Decimal:
        """What the kettle can hold of the formula's own lines."""
        room: Decimal = self.batch.kettle.capacity_g - self.apart_g
        return room

    @property
    def taken_g(self) -> Decimal:
        return sum((row.line.taken_g for row in self.rows), self.apart_g)

    @property
    def over(self) -> list[BatchLine]:
        return [row.line for row in self.rows if row.line.is_above_target]

    @property
    def slip(self) -> Weighing | None:
        """The last reading, where a line is above its tolerance by it alone: a slip of the hand
        that typed it is the first thing to think of."""
        if self.last is None:
            return None
        line = next((line for line in self.over if line.pk == self.last.line_id), None)
        if line is None or line.taken_g - self.last.posting.moved > line.high_g:
            return None
        return self.last

    @property
    def cautions(self) -> list[str]:
        """What to mind when more of a line goes into a melt that is hot already."""
        found = said_once(text for row in self.rows for text in row.cautions)
        return [FREE_LYE, *found] if CAUTIONS[0] in found else found

    @property
    def figures_hash(self) -> str:
        """A mark of the figures a person saw: whatever is weighed meanwhile changes it."""
        figures = [(row.line.pk, row.line.aim_g, row.line.taken_g) for row in self.rows]
        return sha256(repr([figures, self.apart_g]).encode()).hexdigest()[:16]

    def meant(self) -> dict[int, Fraction]:
        """The shares that are meant, by line, for the comparison of labels."""
        return {row.line.pk: line.share for row, line in zip(self.rows, self.lines, strict=True)}

    def with_apart(self, weights: Mapping[int, Decimal]) -> dict[int, Decimal]:
        return {**weights, **{row.line.pk: row.line.taken_g for row in self.apart}}


def contents_of(batch: Batch, *, on: date) -> KettleContents:
    return melt_on(screen_of(batch, on=on))


def melt_on(screen: Screen) -> KettleContents:
    """Sort the lines of the screen: planned ones, more of the same, and what stands apart.

    More of a planned item, unplanned, counts with its line. Bulk of the same formula worked in
    again changes no share and only takes room.
    """
    planned = {row.line.item_id: row for row in screen.lines if row.line.is_planned}
    more = {item: Decimal(0) for item in planned}
    apart = []
    for row in screen.lines:
        if not row.line.is_planned and row.line.item_id in planned:
            more[row.line.item_id] += row.line.taken_g
        elif not row.line.is_planned and row.line.taken_g:
            apart.append(row)
    rows = list(planned.values())
    shares = meant_shares([row.line for row in rows])
    lines = [
        _kettle_line(row, share, more[row.line.item_id])
        for row, share in zip(rows, shares, strict=True)
    ]
    return KettleContents(screen.batch, rows, lines, apart, screen.last)


def meant_shares(lines: Sequence[BatchLine]) -> list[Fraction]:
    """The formula's shares, or those that an accepted or wanted change made of them, exactly."""
    changes = list(TargetChange.objects.filter(line__in=lines).order_by("pk"))
    meant = [place for place, change in enumerate(changes) if change.kind in MEANT]
    if not meant:
        return [Fraction(line.formula_line.share) for line in lines if line.formula_line]
    aims = {line.pk: Fraction(line.target_g) for line in lines}
    for change in changes[: meant[-1] + 1]:
        aims[change.line_id] = Fraction(change.now_g)
    total = sum(aims.values(), Fraction())
    return [100 * aims[line.pk] / total for line in lines]


def _kettle_line(row: ScreenLine, share: Fraction, more_g: Decimal) -> KettleLine:
    stock = sum((max(lot.on_hand, Decimal(0)) for lot in row.proposal.choices), Decimal(0))
    return KettleLine(
        name=row.line.item.name,
        share_percent=share,
        tolerance=Fraction(row.line.tolerance) / 100,
        in_kettle_g=row.line.taken_g + more_g,
        stock_g=stock,
        division_g=row.scale.division_g,
    )
