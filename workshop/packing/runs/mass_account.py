"""The account of one packing run: all that it took is in units or explained."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from workshop.ledger.models import Lot, Posting, Shed, ShedKind
from workshop.packing.models import Product


@dataclass(frozen=True)
class Account:
    """What one run took and put out.

    Of the bulk: taken = fill x units + giveaway + spilled + sampled. Of the containers:
    taken = units + spoiled.
    """

    product: Product
    bulk: Sequence[Posting]
    containers: Sequence[Posting]
    packed: Posting | None
    others: Sequence[Posting] = ()
    sheds: Sequence[Shed] = ()
    retained: Decimal = Decimal(0)

    @property
    def units(self) -> Decimal:
        return self.packed.moved if self.packed else Decimal(0)

    @property
    def bulk_g(self) -> Decimal:
        return _sum(self.bulk)

    def _lost(self, kind: ShedKind) -> Decimal:
        return sum((one.quantity for one in self.sheds if one.kind == kind), Decimal(0))

    @property
    def spilled_g(self) -> Decimal:
        return self._lost(ShedKind.SPILLED)

    @property
    def sampled_g(self) -> Decimal:
        return self._lost(ShedKind.SAMPLED)

    @property
    def filled_g(self) -> Decimal:
        return self.bulk_g - self.spilled_g - self.sampled_g

    @property
    def promised_g(self) -> Decimal:
        """What the labels of all units say together."""
        grams: Decimal = self.units * self.product.fill_g
        return grams

    @property
    def giveaway_g(self) -> Decimal:
        """Filled beyond what the labels say; below zero, it is missing from the units."""
        return self.filled_g - self.promised_g

    @property
    def giveaway_each_g(self) -> Decimal | None:
        return round(self.giveaway_g / self.units, 2) if self.units else None

    @property
    def loss_g(self) -> Decimal:
        """Taken, and not sold by the labels."""
        return self.bulk_g - self.promised_g

    @property
    def loss_percent(self) -> Decimal | None:
        return 100 * self.loss_g / self.bulk_g if self.bulk_g else None

    @property
    def g_per_unit(self) -> Decimal | None:
        return round(self.filled_g / self.units, 2) if self.units else None

    @property
    def pieces(self) -> Decimal:
        return _sum(self.containers)

    @property
    def spoiled(self) -> Decimal:
        return self.pieces - self.units

    @property
    def taken(self) -> list[Posting]:
        return [*self.bulk, *self.containers, *self.others]

    @property
    def below_zero(self) -> list[Lot]:
        lots = {one.lot_id: one.lot for one in self.taken}
        return [lot for lot in lots.values() if lot.on_hand < 0]

    @property
    def leftovers(self) -> list[Lot]:
        """Bulk lots of this run that still hold something."""
        lots = {one.lot_id: one.lot for one in self.bulk}
        return [lot for lot in lots.values() if lot.on_hand > 0]


def _sum(postings: Sequence[Posting]) -> Decimal:
    return sum((posting.moved for posting in postings), Decimal(0))
