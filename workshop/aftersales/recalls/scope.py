"""What a recall reaches: the lots, where all of each is, and who was sent how much."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from django.utils import timezone

from workshop.aftersales.models import Recall, RecallEntry, RecallLine
from workshop.aftersales.recalls.consignees import (
    NOTHING,
    Consignee,
    CustomerLot,
    Parcel,
    buyers_of,
)
from workshop.core.formatting import number
from workshop.kettle.models import BatchState
from workshop.ledger.lot_tree import descendants
from workshop.ledger.models import TRANSFORMING, ItemKind, Lot, Operation, Posting, Side, Status
from workshop.ledger.stock_queries import Balance, balances
from workshop.rules.aftersales.recalls import accounted_percent, contacts_needed

KIND_ORDER = [ItemKind.PRODUCT, ItemKind.BULK, ItemKind.MATERIAL, ItemKind.PACKAGING]


@dataclass
class RecallScope:
    """All that a recall of one lot comes to, at this moment or when it closed."""

    lots: list[Lot]
    lines: list[RecallLine]
    buyers: list[Consignee]
    strays: list[CustomerLot]
    open_runs: list[Operation]
    entries: list[RecallEntry]
    recall: Recall | None = None

    @property
    def finished(self) -> list[RecallLine]:
        return [line for line in self.lines if line.lot.item.kind == ItemKind.PRODUCT]

    @property
    def lots_to_quarantine(self) -> list[Lot]:
        """Lots still in the house that somebody could use or send."""
        free = (Status.RELEASED, Status.QUARANTINE)
        return [line.lot for line in self.lines if line.on_hand and Status(line.lot.status) in free]

    @property
    def in_house(self) -> list[RecallLine]:
        return [line for line in self.lines if line.on_hand > 0]

    @property
    def parcels(self) -> list[Parcel]:
        """What is still on its way and can be stopped, by customer."""
        return [parcel for buyer in self.buyers for parcel in buyer.parcels]

    @property
    def on_its_way(self) -> Decimal:
        return sum((buyer.on_its_way for buyer in self.buyers), NOTHING)

    @property
    def made(self) -> Decimal:
        return self._total("made")

    @property
    def on_hand(self) -> Decimal:
        return self._total("on_hand")

    @property
    def sent(self) -> Decimal:
        return sum((buyer.sent for buyer in self.buyers), NOTHING)

    @property
    def back(self) -> Decimal:
        return sum((buyer.back for buyer in self.buyers), NOTHING)

    @property
    def still_out(self) -> Decimal:
        return self.sent - self.back

    @property
    def missing(self) -> Decimal:
        return self._total("missing")

    @property
    def unreachable(self) -> Decimal:
        """Units with customers of whom nobody knows how to reach them."""
        return self._kept("units_unreachable", [buyer.unreachable for buyer in self.buyers])

    @property
    def units_out(self) -> Decimal:
        """With customers, and gone without a customer's name."""
        return self._kept("units_out", [self.still_out, *(part.still_out for part in self.strays)])

    @property
    def units_reached(self) -> Decimal:
        """Units whose holders were notified; in a drill, or before any recall, could be."""
        if self.recall and not self.recall.is_drill:
            return self._kept("units_reached", [buyer.notified for buyer in self.buyers])
        could = [buyer.still_out - buyer.unreachable for buyer in self.buyers]
        return self._kept("units_reached", could)

    def _kept(self, name: str, units: Iterable[Decimal]) -> Decimal:
        """A sum as the closed recall keeps it; else, and for reports of before, as it is now."""
        kept = getattr(self.recall, name) if self.recall and self.recall.is_closed else None
        return sum(units, NOTHING) if kept is None else kept

    @property
    def percent(self) -> Decimal | None:
        """Of what was made, the part whose place is known and can be reached."""
        return percent_of(self.made, self.missing + self.unreachable)

    @property
    def percent_reached(self) -> Decimal | None:
        return percent_of(self.units_out, self.units_out - self.units_reached)

    @property
    def is_stock_recovery(self) -> bool:
        """Nothing of it ever left the house, so nothing is on the market."""
        return not self.buyers and not self.strays

    @property
    def said(self) -> str:
        """How far it reaches, in half a sentence."""
        here = self._here_said()
        if self.is_stock_recovery:
            return f"none of it was sent to a customer, {here}"
        units = "unit" if self.still_out == 1 else "units"
        customers = "customer" if len(self.buyers) == 1 else "customers"
        out = f"{number(self.still_out)} {units} with {len(self.buyers)} {customers}"
        way = f" ({number(self.on_its_way)} still on the way)" if self.on_its_way else ""
        return f"{out}{way}, {here}"

    def _here_said(self) -> str:
        """What is in the house; once it is closed, what was found there."""
        shelf = self.sums["shelf"]
        if shelf == self.on_hand or not (self.recall and self.recall.is_closed):
            return f"{number(self.on_hand)} finished on hand"
        return f"{number(shelf)} finished found, {number(self.on_hand)} by the book"

    @property
    def told(self) -> int:
        return sum(buyer.is_told for buyer in self.buyers)

    @property
    def answered(self) -> int:
        return sum(buyer.answer is not None for buyer in self.buyers)

    @property
    def sums(self) -> dict[str, Decimal]:
        names = ["made", "shelf", "on_its_way", "arrived", "used", "discarded", "lost", "missing"]
        return {name: self._total(name) for name in names}

    def _total(self, name: str) -> Decimal:
        return sum((getattr(line, name) or NOTHING for line in self.finished), NOTHING)


def percents_of(recall: Recall) -> tuple[Decimal | None, Decimal | None]:
    """What a closed recall came to: the parts accounted for and reached; it was summed by lines."""
    missing = (recall.missing or NOTHING) + (recall.units_unreachable or NOTHING)
    out, reached = recall.units_out or NOTHING, recall.units_reached or NOTHING
    return percent_of(recall.made, missing), percent_of(out, out - reached)


def percent_of(made: Decimal | None, missing: Decimal | None) -> Decimal | None:
    return accounted_percent(made - (missing or NOTHING), made) if made else None


def contacts_due(recall: Recall, reach: RecallScope) -> int:
    return contacts_needed(recall.level, len(reach.buyers))


def scope_of_lot(lot: Lot, *, on: date | None = None) -> RecallScope:
    """What a recall of this lot would reach now; the count of queries is fixed.

    What is on its way to customers is told for the day `on`, today unless given.
    """
    return _reach(descendants([lot.pk]), [], on or timezone.localdate())


def scope_of(recall: Recall, *, on: date | None = None) -> RecallScope:
    """What a running recall reaches now, or what a closed one had reached when it closed."""
    entries = list(recall.entries.select_related("customer", "by").order_by("pk"))
    if not recall.is_closed:
        reach = _reach(descendants([recall.lot_id]), entries, on or timezone.localdate())
        return replace(reach, recall=recall)
    lines = list(recall.lines.select_related("lot__item", "lot__origin"))
    lots = [line.lot for line in lines]
    buyers, strays = buyers_of(lots, entries, until=recall.closed_at)
    return RecallScope(lots, lines, buyers, strays, [], entries, recall)


def _reach(pks: Collection[int], entries: list[RecallEntry], on: date) -> RecallScope:
    rows = Lot.objects.filter(pk__in=pks).select_related("item", "origin")
    lots = sorted(rows, key=lambda lot: (KIND_ORDER.index(ItemKind(lot.item.kind)), lot.pk))
    buyers, strays = buyers_of(lots, entries, on=on)
    with_customers: dict[int, Decimal] = defaultdict(Decimal)
    for part in (part for buyer in buyers for part in buyer.parts):
        with_customers[part.lot.pk] += part.still_out
    on_its_way: dict[int, Decimal] = defaultdict(Decimal)
    for parcel in (parcel for buyer in buyers for parcel in buyer.parcels):
        for part in parcel.parts:
            on_its_way[part.lot.pk] += part.sent
    held = balances(pks)
    lines = [line_of(lot, held[lot.pk], with_customers[lot.pk], on_its_way[lot.pk]) for lot in lots]
    return RecallScope(lots, lines, buyers, strays, _open_runs(pks), entries)


def line_of(lot: Lot, held: Balance, with_customers: Decimal, on_its_way: Decimal) -> RecallLine:
    """Where all of a lot is, and what of it is nowhere."""
    line = RecallLine(
        lot=lot,
        made=held.came_in,
        on_hand=held.on_hand,
        with_customers=with_customers,
        on_its_way=on_its_way,
        used=held.used,
        discarded=held.discarded,
        lost=held.shed - held.counted,
    )
    line.missing = missing_from(line)
    return line


def missing_from(line: RecallLine) -> Decimal:
    known = line.shelf + line.with_customers + line.used + line.discarded + line.lost
    missing: Decimal = line.made - known
    return missing


def _open_runs(pks: Collection[int]) -> list[Operation]:
    """Batches and packing runs under way that took an affected lot: more lots will come."""
    taken = Posting.objects.effective().filter(lot__in=pks, side=Side.IN)
    # What was poured is a lot already, and is among the lots.
    runs = Operation.objects.filter(kind__in=TRANSFORMING, closed_at=None).exclude(
        batch__state=BatchState.POURED
    )
    return list(runs.filter(pk__in=taken.values("operation")).order_by("pk"))
