"""Labels: approved by the owner, printed for what is packed, and counted once stuck on."""

from decimal import Decimal

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.markets import Market
from workshop.demo.story.clock import Clock
from workshop.demo.story.markets import abroad
from workshop.demo.story.story_state import Book
from workshop.labels import services as labels
from workshop.labels.approval.print_status import label_status
from workshop.labels.layout.fit_to_label import fits
from workshop.labels.layout.label_stock import BY_KEY, Layout
from workshop.labels.models import CodeKind, LabelVersion, MarketSheet, Panel, Print, PrintKind
from workshop.labels.services import usual_layout
from workshop.labels.services.designs import save_design
from workshop.labels.services.market_sheets import approve_sheet, save_sheet
from workshop.labels.services.versions import approve, draft_from_lot
from workshop.ledger.models import Lot, Status
from workshop.packing.models import Product

# From here on labels come out of the book; before, they were bought ready printed.
BEGINS = Decimal("0.9")
TRIES = 5
# The sizes in the drawer, the smallest first.
SIZES = {
    "tin": ("letter-10", "letter-6"),
    "jar": ("wrap-180x60", "letter-6"),
    "bar": ("belly-200x50",),
}


def approve_labels(book: Book, clock: Clock) -> None:
    """The owner describes every product's labels and approves them, each from its last lot."""
    if not book.may_happen("labels approved", BEGINS):
        return
    approved = [
        one for product in book.products.values() if (one := _approved(book, clock, product))
    ]
    book.note("labels approved", f"labels of {len(approved)} products are approved")
    abroad.approve_abroad(book, clock)


def _approved(book: Book, clock: Clock, product: Product) -> LabelVersion | None:
    """The first label of a product, from its last lot that keeps what the label promises."""
    save_design(product, _design(product), by=book.owner, at=clock.after(1, 2))
    _sheet(book, clock, product)
    lots = Lot.objects.filter(item=product.item).exclude(status=Status.REJECTED)
    for lot in lots.order_by("-pk")[:TRIES]:
        try:
            with transaction.atomic():
                return approve(
                    draft_from_lot(lot, "US", by=book.owner, at=clock.after(2, 4)),
                    by=book.owner,
                    at=clock.after(1, 2),
                    reason="First label out of the book, read against the last lot",
                )
        except ActionRefused:  # filled short, say: the lot before it is read instead
            continue
    return None


def _sheet(book: Book, clock: Clock, product: Product) -> None:
    """The market sheet that an approval asks for."""
    sheet = save_sheet(
        MarketSheet(product=product, market=Market.US),
        {
            "languages": ["en"],
            "function": product.identity or product.label_name,
            "origin": "USA",
            "substantiated_by": "R. Assessor, toxicologist (invented)",
            "substantiated_on": book.day,
        },
        by=book.owner,
        at=clock.after(1, 2),
    )
    approve_sheet(sheet, by=book.owner, at=clock.after(1, 2))


def _design(product: Product) -> dict[str, object]:
    """What labels say besides the product: its market, its code, and the panel it is sold by."""
    is_tin, travels = product.unit_name == "tin", product.item.code == abroad.TRAVELS
    return {
        "sold_in_us": True,
        "sold_in_eu": travels,
        "sold_in_uk": travels,
        "code": CodeKind.DATAMATRIX if is_tin else CodeKind.LOT,
        "panel": Panel.LID if is_tin else Panel.AS_LABEL,
        "panel_width_mm": Decimal(60) if is_tin else None,
    }


def label_the_day(book: Book, clock: Clock) -> None:
    """Print and count the labels of what was packed today; an untrue one waits for the owner."""
    if "labels approved" not in book.notes:
        return
    for lot in Lot.objects.filter(origin__kind="packing", made_on=book.day).order_by("pk"):
        try:
            _label(book, clock, lot)
        except ActionRefused as error:
            book.packed = [(on, one) for on, one in book.packed if one.pk != lot.pk]
            book.note("untrue label", f"lot {lot} of {lot.item} is not labelled: {error.message}")


def _label(book: Book, clock: Clock, lot: Lot) -> None:
    """Whole sheets are printed; what is left over is destroyed or goes back, and all is counted."""
    units = int(lot.origin.postings.get(lot=lot).moved)
    layout = _layout(lot)
    issued = _whole_sheets(layout, units + book.random.randint(1, 3))
    labels.log_print(
        lot,
        issued,
        layout=layout,
        by=book.packer,
        at=clock.after(3, 6),
        kind=PrintKind.LABEL,
        token=book.token(),
    )
    issued += abroad.print_abroad(book, clock, lot)
    spoiled = book.random.choice((0, 0, 1, 2))
    labels.count_labels(
        lot,
        used=units,
        spoiled=min(spoiled, issued - units),
        returned=max(0, issued - units - spoiled),
        by=book.packer,
        at=clock.after(8, 15),
        token=book.token(),
    )


def _layout(lot: Lot) -> Layout:
    """What its product was printed on last, or the smallest size in the drawer that has room."""
    last = Print.objects.filter(lot__item=lot.item, market=Market.US).first()
    if last is not None:
        return BY_KEY[last.layout]
    label = label_status(lot).label
    sizes = [BY_KEY[key] for key in SIZES[lot.item.product.unit_name]]
    return next((size for size in sizes if fits(label, size)), usual_layout(label))


def _whole_sheets(layout: Layout, count: int) -> int:
    cells = layout.on_page.cells
    return -(-count // cells) * cells
