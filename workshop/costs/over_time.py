"""What the lots of an item cost one after another, and which material or work moved it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from workshop.core.formatting import number
from workshop.core.web.pictograms import graduations
from workshop.costs import figures
from workshop.costs.values.lot_values import values_of
from workshop.ledger.models import Item, ItemKind, Lot, Unit
from workshop.rules.money.lot_costs import WORK, UnitCost, cost_parts

WORK_WORD = "work and overhead"
MOST_MOVERS = 2
# From the foot of a bar to its head; the colours are fills of the style sheet.
BANDS = (("materials", "wax"), ("packaging", "oat"), (WORK_WORD, "leaf"))


@dataclass(frozen=True)
class LotCost:
    """One lot, what a unit of it cost, and that cost by class and by item."""

    lot: Lot
    cost: UnitCost
    by_class: Mapping[str, Fraction]
    by_item: Mapping[str, Fraction]
    change: Fraction | None = None
    movers: Sequence[tuple[str, Fraction]] = ()


def costs_of_lots(item: Item, most: int) -> list[LotCost]:
    """The latest lots of an item, latest first, each held against the one before it."""
    rows = Lot.objects.filter(item=item).select_related("item").order_by("-made_on", "-pk")
    lots = list(rows[:most])
    values = values_of({lot.pk for lot in lots})
    parts = cost_parts(values.costs, values.makings.values())
    sources = {source for lot in lots for source in parts.get(lot.pk, {})}
    items = {
        lot.pk: lot.item for lot in Lot.objects.select_related("item").in_bulk(sources).values()
    }
    found: list[LotCost] = []
    before: LotCost | None = None
    for lot in reversed(lots):
        one = _lot_cost(lot, values.of(lot.pk), parts.get(lot.pk, {}), items)
        before = _held_against(one, before)
        found.append(before)
    return found[::-1]


def _lot_cost(
    lot: Lot, cost: UnitCost, parts: Mapping[int, Fraction], items: Mapping[int, Item]
) -> LotCost:
    by_class: dict[str, Fraction] = {}
    by_item: dict[str, Fraction] = {}
    for source, amount in parts.items():
        item = items.get(source)
        is_packaging = item is not None and item.kind == ItemKind.PACKAGING
        group = "packaging" if is_packaging else "materials"
        group = WORK_WORD if source == WORK else group
        name = WORK_WORD if item is None else item.name
        by_class[group] = by_class.get(group, Fraction()) + amount
        by_item[name] = by_item.get(name, Fraction()) + amount
    return LotCost(lot, cost, by_class, by_item)


def _held_against(one: LotCost, before: LotCost | None) -> LotCost:
    if before is None:
        return one
    names = {**before.by_item, **one.by_item}
    none = Fraction()
    moved = [(name, one.by_item.get(name, none) - before.by_item.get(name, none)) for name in names]
    moved = sorted((pair for pair in moved if pair[1]), key=lambda pair: -abs(pair[1]))
    change = one.cost.amount - before.cost.amount
    return LotCost(one.lot, one.cost, one.by_class, one.by_item, change, tuple(moved[:MOST_MOVERS]))


# ---- In words ------------------------------------------------------------------------------------


def change_told(one: LotCost, currency: str) -> str:
    """By how much it moved since the lot before, with its sign; empty for the first."""
    return "" if one.change is None else _signed(one.change, one.lot, currency)


def movers_told(one: LotCost, currency: str) -> str:
    """What moved it most, such as “Beeswax +0.12, work and overhead −0.03”."""
    told = [(name, _signed(amount, one.lot, currency)) for name, amount in one.movers]
    return ", ".join(f"{name} {amount}" for name, amount in told if amount)


def _signed(amount: Fraction, lot: Lot, currency: str) -> str:
    each, digits = (amount * 1000, 2) if lot.item.unit == Unit.GRAM else (amount, figures.FINE)
    value = round(Decimal(each.numerator) / Decimal(each.denominator), digits)
    if not value:
        return ""
    return ("+" if value > 0 else "") + number(value, least=2, most=digits)


# ---- As a picture --------------------------------------------------------------------------------

WIDTH, HEIGHT = 680, 270
LEFT, RIGHT, TOP, BOTTOM = 60, 150, 14, 34
WORD_HEIGHT = 18
WIDEST_BAR = 34


@dataclass(frozen=True)
class Band:
    """A part of a bar, in the units of the drawing."""

    fill: str
    x: str
    y: str
    width: str
    height: str


@dataclass(frozen=True)
class Text:
    text: str
    x: str
    y: str


@dataclass(frozen=True)
class CostPicture:
    """Bars of what each lot cost, the oldest first, as the template draws them."""

    bands: list[Band]
    ticks: list[Text]
    months: list[Text]
    words: list[Text]
    unit: str
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = WIDTH - RIGHT
    foot: int = HEIGHT - BOTTOM


def picture_of(costs: Sequence[LotCost], currency: str) -> CostPicture | None:
    """Two lots or more, the oldest at the left; None for fewer, or where nothing is known."""
    lots = list(reversed(costs))
    each = 1000 if lots and lots[0].lot.item.unit == Unit.GRAM else 1
    most = max((one.cost.amount * each for one in lots), default=Fraction())
    if len(lots) < 2 or not most:
        return None
    step = Fraction(WIDTH - RIGHT - LEFT) / len(lots)
    bands = [
        band
        for place, one in enumerate(lots)
        for band in _bar(one, LEFT + step * place, step, each / most)
    ]
    ticks = [
        Text(number(Decimal(str(mark)), most=4), "", _px(_height(Fraction(str(mark)) / most)))
        for mark in graduations(float(most), 5)
    ]
    return CostPicture(
        bands=bands,
        ticks=[Text("0", "", _px(Fraction(HEIGHT - BOTTOM))), *ticks],
        months=_months(lots, step),
        words=_words(lots[-1], each / most),
        unit=f"{currency} a {'kg' if each > 1 else 'piece'}",
    )


def _height(share: Fraction) -> Fraction:
    return HEIGHT - BOTTOM - share * (HEIGHT - BOTTOM - TOP)


def _bar(one: LotCost, x: Fraction, step: Fraction, scale: Fraction) -> list[Band]:
    width = min(step * 4 / 5, Fraction(WIDEST_BAR))
    left = x + (step - width) / 2
    found, below = [], Fraction()
    for group, fill in BANDS:
        amount = one.by_class.get(group, Fraction()) * scale
        if amount:
            top, foot = _height(below + amount), _height(below)
            found.append(Band(fill, _px(left), _px(top), _px(width), _px(foot - top)))
            below += amount
    return found


def _months(lots: Sequence[LotCost], step: Fraction) -> list[Text]:
    """The month below its first lot, as far apart as their words are wide."""
    found, last, free = [], "", Fraction(LEFT)
    for place, one in enumerate(lots):
        word, x = f"{one.lot.made_on:%b %Y}", LEFT + step * place
        if word != last and x >= free:
            found.append(Text(word, _px(x), str(HEIGHT - BOTTOM + 18)))
            last, free = word, x + 74
    return found


def _words(last: LotCost, scale: Fraction) -> list[Text]:
    """The names of the bands beside the last bar, none on another."""
    found, below, lowest = [], Fraction(), Fraction(HEIGHT)
    for group, _ in BANDS:
        amount = last.by_class.get(group, Fraction()) * scale
        if amount:
            middle = min(_height(below + amount / 2), lowest - WORD_HEIGHT)
            found.append(Text(group, str(WIDTH - RIGHT + 10), _px(middle)))
            lowest, below = middle, below + amount
    return found


def _px(value: Fraction) -> str:
    return f"{float(value):.1f}"
