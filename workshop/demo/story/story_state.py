"""What the people of the demo have in mind while they work: who is who, what waits for whom."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from random import Random
from typing import TypeVar

from workshop.aftersales.models import Recall
from workshop.core.models import User
from workshop.demo.tables.materials import Bought
from workshop.dispatch.models import Customer, Dispatch
from workshop.formulas.models import Version
from workshop.goods_in.models import Supplier
from workshop.kettle.models import Batch, Kettle, Scale
from workshop.ledger.models import Item, Lot
from workshop.packing.models import Product

Thing = TypeVar("Thing")
DAYS = 548  # of the whole history, for which volumes and certificates are laid out


@dataclass(frozen=True)
class Order:
    """What a supplier will bring on a day: materials and packs of each."""

    on: date
    supplier: str
    rows: tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class Sent:
    """One lot of a dispatch, as far as somebody may send it back."""

    dispatch: Dispatch
    lot: Lot
    units: Decimal


@dataclass(frozen=True)
class Bar:
    """The sample bar of a lot on the rack: cut at a weight, and losing a share of it."""

    lot: Lot
    since: date
    fresh_g: Decimal
    loss: Decimal

    def weighs(self, on: date) -> Decimal:
        """Its loss slows down from day to day, to a tenth in about three weeks."""
        gone = 1 - (-Decimal((on - self.since).days) / 10).exp()
        return (self.fresh_g * (1 - self.loss * gone)).quantize(Decimal("0.01"))


@dataclass
class Book:
    random: Random
    draw: Callable[[int], int]
    start: date
    until: date
    people: dict[str, User] = field(default_factory=dict)
    suppliers: dict[str, Supplier] = field(default_factory=dict)
    bought: dict[str, Bought] = field(default_factory=dict)
    items: dict[str, Item] = field(default_factory=dict)
    versions: dict[str, Version] = field(default_factory=dict)
    products: dict[str, Product] = field(default_factory=dict)
    customers: list[Customer] = field(default_factory=list)
    kettles: list[Kettle] = field(default_factory=list)
    bench: Scale = field(default_factory=Scale)
    fine: Scale = field(default_factory=Scale)
    orders: list[Order] = field(default_factory=list)
    arrived: list[tuple[date, Lot]] = field(default_factory=list)
    poured: list[Batch] = field(default_factory=list)
    curing: list[tuple[date, Batch]] = field(default_factory=list)
    bars: list[Bar] = field(default_factory=list)
    bars_left: dict[int, int] = field(default_factory=dict)
    packed: list[tuple[date, Lot]] = field(default_factory=list)
    rejected: list[Lot] = field(default_factory=list)
    came_back: list[tuple[date, Lot]] = field(default_factory=list)
    runs_of: dict[int, int] = field(default_factory=dict)
    sent: list[Sent] = field(default_factory=list)
    notes: dict[str, str] = field(default_factory=dict)
    done: set[str] = field(default_factory=set)
    complained: list[Sent] = field(default_factory=list)
    shared: str = ""
    sore: list[Sent] = field(default_factory=list)
    recall: Recall | None = None
    day: date = date.min

    @property
    def owner(self) -> User:
        return self.people["odile"]

    @property
    def packer(self) -> User:
        return self.people["pia"]

    def maker(self) -> User:
        return self.people[self.random.choice(("tamsin", "bram"))]

    def token(self) -> str:
        return f"{self.draw(2**128):032x}"

    def chance(self, one_in: int) -> bool:
        return self.random.randrange(one_in) == 0

    def in_days(self, least: int, most: int) -> date:
        return self.day + timedelta(days=self.random.randint(least, most))

    def note(self, what: str, sentence: str) -> None:
        """Remember the first thing of its kind, for the list at the end."""
        self.notes.setdefault(what, sentence)

    def may_happen(self, what: str, after: Decimal) -> bool:
        """Whether it is time for something that happens once, and it has not happened yet."""
        gone = Decimal((self.day - self.start).days) / max((self.until - self.start).days, 1)
        return what not in self.notes and gone >= after

    def due(self, waiting: list[tuple[date, Thing]]) -> list[Thing]:
        """Take out of `waiting` what its day has come for."""
        ready = [thing for on, thing in waiting if on <= self.day]
        waiting[:] = [(on, thing) for on, thing in waiting if on > self.day]
        return ready


@dataclass
class Evenly:
    """So many of `total` a day that they are spread evenly over `days`."""

    total: int
    days: int
    owed: int = 0

    def today(self) -> int:
        self.owed += self.total
        count, self.owed = divmod(self.owed, self.days)
        return count


@dataclass
class Turns:
    """Takes turns by weight: whoever is owed most is next."""

    weights: dict[str, int]
    owed: dict[str, int] = field(default_factory=dict)

    def order(self) -> Sequence[str]:
        """Everybody, the next one first, after each was given its share."""
        for name, weight in self.weights.items():
            self.owed[name] = self.owed.get(name, 0) + weight
        return sorted(self.weights, key=lambda name: -self.owed[name])

    def took(self, name: str) -> None:
        self.owed[name] -= sum(self.weights.values())
