"""Which lots a trial would be weighed from: those that are next, or the one that was chosen."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from operator import attrgetter

from django.db.models import Window
from django.db.models.functions import RowNumber

from workshop.kettle.weighing.lot_selection import Cover, on_offer
from workshop.ledger.models import Item, Lot, Status
from workshop.rules.quantities.first_expired import LotOnOffer, draw_lots
from workshop.workbench.trial import Trial, TriedLine

MOST_LOTS = 12
Parts = list[tuple[Lot, Fraction]]


@dataclass(frozen=True)
class Supply:
    """The lots of some items: on hand and usable first, and the newest that ever came."""

    stocked: Mapping[int, list[Lot]]
    newest: Mapping[int, list[Lot]]
    fits: Cover
    is_organic: bool

    def usable(self, item: Item) -> list[Lot]:
        """What may be weighed for a line of this item, first expired first."""
        return [lot for lot in self.stocked.get(item.pk, []) if self.fits(item, lot)]

    def choices(self, item: Item) -> list[Lot]:
        """What a person may try: usable lots, others on hand, the newest used up."""
        lots = [*self.usable(item), *self.stocked.get(item.pk, []), *self.newest.get(item.pk, [])]
        return list(dict.fromkeys(lots))[:MOST_LOTS]

    def parts(self, line: TriedLine, grams: Fraction) -> Parts:
        """The lots that the line would be drawn from, with grams that add up to what it needs.

        Where the stock is short, in the proportion of what there is; where there is none, the
        newest lot stands for it; nothing where none ever came.
        """
        chosen = next((one for one in self.choices(line.item) if one.pk == line.lot), None)
        if chosen is not None:
            return [(chosen, grams)]
        usable = {lot.pk: lot for lot in self.usable(line.item)}
        need = Decimal(grams.numerator) / Decimal(grams.denominator)
        offers = [LotOnOffer(pk, lot.on_hand, lot.best_before) for pk, lot in usable.items()]
        drawn, _ = draw_lots(need, offers)
        total = sum((Fraction(take) for _, take in drawn), Fraction())
        if total:
            return [(usable[pk], grams * Fraction(take) / total) for pk, take in drawn]
        return [(lot, grams) for lot in self.newest.get(line.item.pk, [])[:1]]


def supply_of(trials: Sequence[Trial], *, on: date) -> Supply:
    """The lots of all that is tried; as many queries for any number of lines."""
    items = {line.item.pk for trial in trials for line in trial.lines}
    organic = any(trial.version.claims_organic for trial in trials)
    found, fits = on_offer(items, on=on, organic=organic)
    stocked: dict[int, list[Lot]] = {}
    for lot in found:
        stocked.setdefault(lot.item_id, []).append(lot)
    return Supply(stocked, _newest(items), fits, organic)


def _newest(items: Collection[int]) -> dict[int, list[Lot]]:
    """Of each item the lots that came or were made last, whatever is left of them."""
    place = Window(RowNumber(), partition_by="item", order_by=["-made_on", "-pk"])
    rows = Lot.objects.filter(item__in=items).exclude(status=Status.REJECTED)
    newest: dict[int, list[Lot]] = {}
    for lot in rows.annotate(place=place).filter(place__lte=MOST_LOTS).select_related("item"):
        newest.setdefault(lot.item_id, []).append(lot)
    return {item: sorted(lots, key=attrgetter("place")) for item, lots in newest.items()}
