"""Which lots may go into a batch (`refusal` of any other), and which are drawn on first.

Which may be packed is in `packing/usable_lots.py`; which may be sent out, in
`dispatch/services/dispatches.py`. What is offered follows `LotQuerySet.available` of
`ledger/models/ledger.py`.
"""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from workshop.core.formatting import day
from workshop.goods_in.bought_lot_organic_status import IsOrganic, organic_look_up, organic_lots
from workshop.kettle.models import Batch, BatchLine
from workshop.kettle.soap_readiness import is_rebatched
from workshop.ledger.lot_tree import Link, links_back
from workshop.ledger.models import Item, ItemKind, Lot, Status
from workshop.ledger.stock_queries import with_place
from workshop.materials.models import profile_of
from workshop.rules.dates.best_before import is_past
from workshop.rules.quantities.first_expired import LotOnOffer, draw_lots

Cover = Callable[[Item, Lot], bool]


@dataclass(frozen=True)
class Pick:
    lot: Lot
    take_g: Decimal


@dataclass(frozen=True)
class Proposal:
    """The lots a line is to be drawn from, and what they leave short."""

    line: BatchLine
    need_g: Decimal
    picks: list[Pick]
    short_g: Decimal
    usable: list[Lot] = field(default_factory=list)
    instead: list[Lot] = field(default_factory=list)

    @property
    def choices(self) -> list[Lot]:
        """Every lot that may be taken, the line's own item before its substitutes."""
        return self.usable + self.instead


def proposals(batch: Batch, *, on: date) -> list[Proposal]:
    """Propose lots for what each line still needs, first expired first out.

    Two lines of one item never count on the same grams.
    """
    lines = lines_of(batch)
    offers = _offers(batch, lines, on=on)
    left = {lot.pk: lot.on_hand for lots in offers.values() for lot in lots}
    return [_proposal(line, offers[line.pk], left) for line in lines]


def lines_of(batch: Batch) -> list[BatchLine]:
    """The lines in their order, with what was weighed and what may stand in."""
    rows = batch.lines.with_taken().select_related("item__profile", "formula_line")
    return list(rows.prefetch_related("formula_line__substitutes"))


def allowed_items(line: BatchLine) -> set[int]:
    """The line's own item and, from the formula, whatever may stand in for it."""
    own = {line.item_id}
    if line.formula_line is None:
        return own
    return own | {item.pk for item in line.formula_line.substitutes.all()}


def refusal(line: BatchLine, lot: Lot, *, on: date) -> str | None:
    """Why this lot may not go into this line, in a sentence with a way on; None if it may."""
    if lot.item_id != line.item_id and lot.item_id not in allowed_items(line):
        return (
            f"Lot {lot} is {lot.item}, but this line is {line.item}. "
            f"Choose a lot of {line.item}, or add {lot.item} as an unplanned addition."
        )
    is_rework = not line.is_planned and is_rebatched(line.batch.version, lot)
    if lot.status != Status.RELEASED and not is_rework:
        return f"Lot {lot} is {_in_words(lot)}. Choose another lot, or ask the owner to release it."
    if lot.best_before and is_past(lot.best_before, on):
        return f"Lot {lot} was best before {day(lot.best_before)}. Choose another lot."
    if line.batch.version.claims_organic and not _is_covered(line, lot):
        return (
            f"Lot {lot} did not come in as organic, and this formula claims to be organic. Choose "
            "a lot that did."
        )
    return None


def _is_covered(line: BatchLine, lot: Lot) -> bool:
    """The same answer as `cover_of` gives, for one lot and with as little reading as can be."""
    if lot.item.kind == ItemKind.BULK:
        return cover_of([lot])(line.item, lot)
    organic = _bought_as_organic(line.item) or _bought_as_organic(lot.item)
    return not organic or organic_lots(Lot.objects.filter(pk=lot.pk)).exists()


def cover_of(lots: Collection[Lot]) -> Cover:
    """Whether a lot may stand in an organic formula where an item is called for, for many lots.

    What is bought as organic must have come in as organic. A bulk made here is judged by all that
    went into it, at any depth.
    """
    links = links_back([lot.pk for lot in lots if lot.item.kind == ItemKind.BULK])
    everything = _in_full({link.source_id for link in links} | {lot.pk for lot in lots})
    is_organic = organic_look_up(everything.values())
    bare = _made_from_bare(links, everything, is_organic)

    def is_covered(wanted: Item, lot: Lot) -> bool:
        if lot.item.kind == ItemKind.BULK:
            return lot.pk not in bare
        organic = _bought_as_organic(wanted) or _bought_as_organic(lot.item)
        return not organic or is_organic(everything[lot.pk])

    return is_covered


def _in_full(ids: Collection[int]) -> dict[int, Lot]:
    return Lot.objects.select_related("item__profile", "receipt_line").in_bulk(ids)


def _made_from_bare(
    links: Collection[Link], lots: dict[int, Lot], is_organic: IsOrganic
) -> set[int]:
    """The lots made, at any depth, from something that should have been organic and was not."""
    products: dict[int, set[int]] = defaultdict(set)
    bare = []
    for link in links:
        products[link.source_id].add(link.product_id)
        source = lots[link.source_id]
        if _bought_as_organic(source.item) and not is_organic(source):
            bare.append(link.product_id)
    return _and_after(bare, products)


def _and_after(first: Iterable[int], products: dict[int, set[int]]) -> set[int]:
    seen: set[int] = set()
    ahead = list(first)
    while ahead:
        here = ahead.pop()
        if here not in seen:
            seen.add(here)
            ahead.extend(products.get(here, ()))
    return seen


def _bought_as_organic(item: Item) -> bool:
    profile = profile_of(item)
    return bool(profile and profile.is_organic)


def _offers(batch: Batch, lines: Collection[BatchLine], *, on: date) -> dict[int, list[Lot]]:
    """What each line, by its key, may be drawn from, first expired first."""
    allowed = {line.pk: allowed_items(line) for line in lines}
    items: set[int] = set().union(*allowed.values())
    found, may_use = on_offer(items, on=on, organic=batch.version.claims_organic)
    return {
        line.pk: [
            lot for lot in found if lot.item_id in allowed[line.pk] and may_use(line.item, lot)
        ]
        for line in lines
    }


def on_offer(items: Collection[int], *, on: date, organic: bool) -> tuple[list[Lot], Cover]:
    """Lots of these items that may be weighed, first expired first, and where each may stand."""
    lots = Lot.objects.filter(item__in=items).available(on=on).select_related("item__profile")
    found = list(with_place(lots))
    return found, cover_of(found) if organic else _anything


def _anything(_: Item, __: Lot) -> bool:
    return True


def _proposal(line: BatchLine, lots: list[Lot], left: dict[int, Decimal]) -> Proposal:
    """Draw what the line needs from what is left of its lots, and take it away there.

    A line that is within its tolerance needs no more.
    """
    usable = {lot.pk: lot for lot in lots if lot.item_id == line.item_id}
    need = Decimal(0) if line.is_done else line.to_go_g
    on_offer = [LotOnOffer(pk, left[pk], lot.best_before) for pk, lot in usable.items()]
    drawn, short = draw_lots(need, on_offer)
    for pk, take in drawn:
        left[pk] -= take
    instead = [lot for lot in lots if lot.item_id != line.item_id]
    picks = [Pick(usable[pk], take) for pk, take in drawn]
    return Proposal(line, need, picks, short, list(usable.values()), instead)


def _in_words(lot: Lot) -> str:
    return "in quarantine" if lot.status == Status.QUARANTINE else lot.get_status_display()
