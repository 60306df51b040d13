"""What is to be done in a week, and with what: batches, packing, kettles, hours, racks, lots."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

NEVER = 10_000  # a day beyond every week


@dataclass(frozen=True)
class Family:
    """What matters for cleaning: whether a batch is organic, and whether it is scented."""

    is_organic: bool
    is_scented: bool


@dataclass(frozen=True)
class Vat:
    """A kettle: what it holds, and what was made in it last; None once it was cleaned."""

    key: int
    holds_g: Decimal
    last: Family | None = None


@dataclass(frozen=True)
class Stock:
    """A lot: how much of it is free, from which day, and the last day on which it is good."""

    key: int
    item: int
    amount: Decimal
    from_day: int = 0
    good_until: int = NEVER


@dataclass(frozen=True)
class Place:
    """Where a task stands: its day, and for a batch its kettle."""

    day: int
    vat: int | None = None


@dataclass(frozen=True)
class Task:
    """A batch, or the packing of what is there (without a `family`).

    Days count from the first of the week. `due` is the last day on which it is in time; below 0 it
    is late already. `needs` is what it takes of each item. Soap stands on a rack for `rack_g`.
    With `only_day` it may stand on no other day, with `only_vats` in no other kettle. A fixed task
    stands where it is, whatever the limits: `fixed` is its place.
    """

    key: str
    due: int
    minutes: int
    grams: Decimal = Decimal(0)
    family: Family | None = None
    needs: Mapping[int, Decimal] = field(default_factory=dict)
    rack_g: Decimal = Decimal(0)
    weight: int = 1  # how much a day of its lateness counts
    only_day: int | None = None
    only_vats: frozenset[int] | None = None
    fixed: Place | None = None


@dataclass(frozen=True)
class Shop:
    """What a week has: minutes of work on each day, kettles, free rack room by day, lots."""

    minutes: Sequence[int]
    vats: Sequence[Vat]
    stock: Sequence[Stock] = ()
    rack_g: Sequence[Decimal] | None = None  # None: racks without a limit
    cleaning_minutes: int = 0
    a_day: int = 1  # batches that one kettle can make in a day

    @property
    def days(self) -> int:
        """How many days the week has."""
        return len(self.minutes)


@dataclass(frozen=True)
class Draw:
    """What a task takes of one lot."""

    task: str
    lot: int
    amount: Decimal


@dataclass(frozen=True)
class Score:
    """What is not good about a week: cleanings, days of lateness, kilograms that expire in it.

    Each day of lateness counts by the weight of its task.
    """

    cleanings: int
    late_days: int
    waste_kg: Decimal

    @property
    def total(self) -> Decimal:
        """The three together; a cleaning, a day and a kilogram count alike."""
        return self.cleanings + self.late_days + self.waste_kg


@dataclass(frozen=True)
class Week:
    """A proposal: where each task stands, what it takes, and what stays undone and why."""

    places: Mapping[str, Place]
    draws: Sequence[Draw]
    cleanings: Mapping[str, Family]  # before which batch, and what was in the kettle before it
    undone: Mapping[str, str]
    score: Score


def needs_cleaning(before: Family | None, after: Family) -> bool:
    """Return whether a kettle must be cleaned between two batches.

    Before what is organic after what is not, and before what is unscented after what is scented.

    Source: 7 CFR 205.272(a) for organic; for scent common practice, no source.

    >>> plain, scented = Family(True, False), Family(True, True)
    >>> needs_cleaning(plain, scented), needs_cleaning(scented, plain), needs_cleaning(None, plain)
    (False, True, False)
    """
    if before is None:
        return False
    organic = after.is_organic and not before.is_organic
    scent = before.is_scented and not after.is_scented
    return organic or scent
