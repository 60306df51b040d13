"""Which finished lots to send: first expired first out."""

from datetime import date
from decimal import Decimal

from django.db.models import F
from django.http import QueryDict

from workshop.ledger.models import Item, Lot
from workshop.ledger.stock_queries import with_place
from workshop.packing.stock.retained import for_sale, sellable_of
from workshop.rules.codes.lot_codes import normalise_code
from workshop.rules.quantities.first_expired import LotOnOffer, draw_lots

MOST_ROWS = 100
MOST_SHOWN = 50


def on_the_shelf(on: date) -> list[Lot]:
    """Finished lots that may go, by product, the first to expire first, with what is for sale."""
    lots = with_place(for_sale(on=on).select_related("item"))
    soonest = F("best_before").asc(nulls_last=True)
    return list(lots.order_by("item__name", soonest, "made_on", "pk")[:MOST_SHOWN])


def with_proposal(
    typed: QueryDict, *, product: Item, wanted: Decimal, on: date
) -> tuple[QueryDict, Decimal]:
    """The typed rows with lots of `product` put into empty ones, and how many units are short."""
    data = typed.copy()
    rows = [row for row in range(MOST_ROWS) if not data.get(f"rows-{row}-lot", "").strip()]
    named = {
        normalise_code(data.get(f"rows-{row}-lot", "")) for row in set(range(MOST_ROWS)) - set(rows)
    }
    lots = for_sale(on=on).filter(item=product).exclude(code__in=named)
    free = sellable_of(lots)
    drawn, short = draw_lots(
        wanted, [LotOnOffer(lot.shown_code, free[lot.pk], lot.best_before) for lot in lots]
    )
    for row, (code, units) in zip(rows, drawn, strict=False):
        data[f"rows-{row}-lot"] = code
        data[f"rows-{row}-units"] = f"{units.normalize():f}"
    return data, short
