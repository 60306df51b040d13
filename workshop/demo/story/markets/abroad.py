"""One balm is sold under three laws, in three languages: its sheets, its labels, their printing."""

from typing import Any

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.markets import Market
from workshop.demo.story.clock import Clock
from workshop.demo.story.story_state import Book
from workshop.labels import services as labels
from workshop.labels.approval.print_status import label_status
from workshop.labels.layout.fit_to_label import fits
from workshop.labels.layout.label_stock import BY_KEY
from workshop.labels.models import LabelVersion, MarketSheet, Party, PrintKind
from workshop.labels.services.market_sheets import approve_sheet, save_row, save_sheet
from workshop.labels.services.versions import approve, draft_from_lot
from workshop.ledger.models import Lot, Status
from workshop.packing.models import Product

# Without scent, so that no law asks for allergens by name.
TRAVELS = "BAR-60"
LANGUAGES = {Market.EU: ["de", "fr"], Market.UK: ["en"]}
SIZES = ("letter-10", "letter-6")
PARTIES = {
    Market.EU: ("Dune and Dyke Trading (invented)", "Musterkai 3\n20000 Hafenstadt", "DE"),
    Market.UK: ("Tidemouth Wares (invented)", "4 Sample Wharf\nTidemouth TD1 0AA", "GB"),
}


def approve_abroad(book: Book, clock: Clock) -> None:
    """The owner names who answers for the balm in each market, and approves its labels there."""
    product = book.products[TRAVELS]
    approved = [market for market in LANGUAGES if _approved(book, clock, product, market)]
    if len(approved) == len(LANGUAGES):
        book.note("sold abroad", f"{product} has labels for three markets, in three languages")


def _approved(book: Book, clock: Clock, product: Product, market: Market) -> LabelVersion | None:
    # No chance is asked here, so that the rest of the story stays what it was.
    act: dict[str, Any] = {"by": book.owner, "at": clock.now}
    name, address, country = PARTIES[market]
    party = save_row(
        Party(market=market),
        {"name": name, "address": address, "country": country, "contact": "hello@example.com"},
        **act,
    )
    sheet = save_sheet(
        MarketSheet(product=product, market=market),
        {
            "responsible": party,
            "languages": LANGUAGES[market],
            "function": product.identity,
            "origin": "USA",
            "substantiated_by": "R. Assessor, toxicologist (invented)",
            "substantiated_on": book.day,
        },
        **act,
    )
    approve_sheet(sheet, **act)
    lots = Lot.objects.filter(item=product.item).exclude(status=Status.REJECTED)
    for lot in lots.order_by("-pk")[:5]:
        try:
            with transaction.atomic():
                draft = draft_from_lot(lot, market, by=book.owner, at=clock.now)
                return approve(draft, reason="First label for this market", **act)
        except ActionRefused:
            continue
    return None


def print_abroad(book: Book, clock: Clock, lot: Lot) -> int:
    """A sheet of labels for each further market, as many as are in all; none of other products."""
    if "sold abroad" not in book.notes or lot.item_id != book.products[TRAVELS].item_id:
        return 0
    printed = 0
    for market in LANGUAGES:
        label = label_status(lot, market).label
        layout = next(BY_KEY[key] for key in SIZES if fits(label, BY_KEY[key]))
        printed += labels.log_print(
            lot,
            layout.on_page.cells,
            layout=layout,
            market=market,
            by=book.packer,
            at=clock.now,
            kind=PrintKind.LABEL,
            token=f"demo-{lot}-{market}",
        ).count
    return printed
