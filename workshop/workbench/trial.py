"""What is tried: lines with their shares, the lots chosen, how much is made, what is filled."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from workshop.formulas.models import Line, Version
from workshop.ledger.models import Item
from workshop.materials.models import profile_of
from workshop.packing.models import Product


@dataclass(frozen=True)
class TriedLine:
    """One ingredient as tried; `lot` is the key of the one chosen, None for what is next.

    `like` is the line of the formula whose tolerance, phase and straining it keeps.
    """

    item: Item
    share: Decimal
    lot: int | None = None
    like: Line | None = None

    @property
    def tolerance(self) -> Decimal:
        return self.like.tolerance if self.like else Decimal(2)

    @property
    def is_strained_out(self) -> bool:
        """An herb that stands in for another is strained out as that one was."""
        return bool(self.like and self.like.is_strained_out)

    @property
    def stays(self) -> str:
        """The extract of the herb itself; of another one by its name, until somebody words it."""
        if self.like is None or not self.like.stays or self.like.item_id == self.item.pk:
            return self.like.stays if self.like else ""
        profile = profile_of(self.item)
        name = profile.inci_name if profile else self.item.name
        return name if name.endswith("Extract") else f"{name} Extract"


@dataclass(frozen=True, kw_only=True)
class Trial:
    """A batch that nobody made: so many grams by these shares, and units filled from it.

    `version` says what the shares do not: loss, shelf life, cure, use. Minutes are None where
    nobody said how long it takes.
    """

    version: Version
    lines: tuple[TriedLine, ...]
    batch_g: Decimal
    product: Product | None = None
    fill_g: Decimal | None = None
    batch_minutes: int | None = None
    run_minutes: int | None = None

    @property
    def whole(self) -> Decimal:
        """What the shares add up to: 100, unless a draft is not finished."""
        return sum((line.share for line in self.lines), Decimal(0))

    def grams(self, line: TriedLine) -> Fraction:
        return Fraction(self.batch_g) * Fraction(line.share) / Fraction(self.whole)

    @property
    def made_g(self) -> Fraction:
        """What is poured after the loss that the formula expects."""
        return Fraction(self.batch_g) * (1 - Fraction(self.version.expected_loss) / 100)

    @property
    def share_left(self) -> Fraction:
        """What is left of a gram once it has cured."""
        return 1 - Fraction(self.version.cure_loss or 0) / 100

    @property
    def units(self) -> int:
        """Whole units that it fills."""
        fill = self.fill_g
        return int(self.made_g * self.share_left / Fraction(fill)) if fill else 0


def lines_of(version: Version) -> tuple[TriedLine, ...]:
    """The lines of a version that was read in full."""
    return tuple(TriedLine(line.item, line.share, like=line) for line in version.lines.all())


def in_use(lines: Sequence[TriedLine]) -> tuple[TriedLine, ...]:
    """Those of which there is anything."""
    return tuple(line for line in lines if line.share > 0)


def made_further_on(version: Version) -> list[Version]:
    """The approved formulas that the bulk of a version goes into, at any depth, nearest first."""
    found: list[Version] = []
    bulks, seen = {version.formula.item_id}, {version.formula.item_id}
    while bulks:
        rows = Version.objects.approved().filter(lines__item__in=bulks).distinct().in_full()
        new = [one for one in rows if one.formula.item_id not in seen]
        found += new
        bulks = {one.formula.item_id for one in new}
        seen |= bulks
    return found
