"""Letters to the customers of a recall: laid out once, put together for each of them."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from django.utils.timezone import localdate

from workshop.aftersales.models import Depth, Hazard, Recall
from workshop.aftersales.recalls.consignees import Consignee, CustomerLot
from workshop.core.errors import ActionRefused
from workshop.core.formatting import day, number
from workshop.core.models import Workshop
from workshop.core.paper.mass_letters import (
    STANDS_ALONE,
    LaidOut,
    Sheets,
    characters_of,
    lay_out,
)
from workshop.labels.approval.print_status import label_status
from workshop.labels.layout.fit_to_label import draw, fits
from workshop.labels.layout.label_stock import ALL, layout_of
from workshop.labels.layout.preview_image import as_source
from workshop.ledger.models import Item, Lot
from workshop.packing.models import Product

TEMPLATE = "aftersales/print/recall_letters.html"
MOST_PICTURES = 3
ADDRESS_PT = 270.0
SLIP = ("slip", "name", "choices")  # torn off, so on one page


@dataclass(frozen=True)
class Named:
    """A recalled lot with the GTIN of its product."""

    lot: Lot
    gtin: str


@dataclass(frozen=True)
class Pictured:
    item: Item
    source: str


def letters(recall: Recall, buyers: Iterable[Consignee]) -> bytes:
    """One letter to everybody who has units left, each with its own page numbers."""
    to = [buyer for buyer in buyers if buyer.still_out > 0]
    context = _context(recall, to)
    laid = _laid_out(context, to)
    sheets = Sheets(laid)
    shown = [picture.item.pk for picture in context["pictures"]]
    about = "Drill: not to be sent" if recall.is_drill else "Recall notice"
    for buyer in to:
        first = len(sheets.pages)
        sheets.turn()
        _put(sheets, buyer, shown)
        sheets.foot(first, recall.reference, about)
    return sheets.pdf(f"Letters of {recall.word} {recall}")


def _context(recall: Recall, to: list[Consignee]) -> dict[str, Any]:
    lots = list({part.lot.pk: part.lot for buyer in to for part in recalled(buyer)}.values())
    gtins = dict(
        Product.objects.filter(item__in={lot.item_id for lot in lots}).values_list("item", "gtin")
    )
    return {
        "recall": recall,
        "workshop": Workshop.objects.first(),
        "day": recall.notice_on or localdate(recall.started_at),
        "is_urgent": recall.hazard in (Hazard.CLASS_1, Hazard.CLASS_2, Hazard.NOT_YET),
        "passes_on": recall.depth != Depth.WHOLESALE,
        "to_consumers": recall.depth == Depth.CONSUMER,
        "lots": [Named(lot, gtins.get(lot.item_id, "")) for lot in lots],
        "pictures": list(pictures_of(lots)),
    }


def _laid_out(context: dict[str, Any], to: list[Consignee]) -> LaidOut:
    """Laid out with the addresses that cannot be written letter by letter, which are few."""
    unusual = [buyer for buyer in to if not all(map(STANDS_ALONE.fullmatch, _texts(buyer)))]
    laid = _lay_out(context, to, unusual)
    missed = [buyer for buyer in to if not all(map(laid.words.can_write, _texts(buyer)))]
    return laid if len(missed) == len(unusual) else _lay_out(context, to, missed)


def _lay_out(context: dict[str, Any], to: list[Consignee], unusual: list[Consignee]) -> LaidOut:
    told = [context["recall"].reference, "Recall notice", "Drill: not to be sent"]
    written = (text for buyer in to if buyer not in unusual for text in _texts(buyer))
    more = {"unusual": [(buyer, address_of(buyer)) for buyer in unusual]}
    return lay_out(TEMPLATE, {**context, **more, "characters": characters_of([*told, *written])})


def _texts(buyer: Consignee) -> list[str]:
    """All that is written into the letter of one customer."""
    parts = (text for part in recalled(buyer) for text in _of_part(buyer, part).values())
    return [*address_of(buyer), str(buyer.customer), *parts]


def _put(sheets: Sheets, buyer: Consignee, pictured: list[int]) -> None:
    pk, words = buyer.customer.pk, sheets.of.words
    unusual = f"to-{pk}" in sheets.of.blocks
    sheets.put("sender")
    if unusual:
        sheets.put(f"to-{pk}")
    else:
        sheets.write(line for text in address_of(buyer) for line in words.lines(text, ADDRESS_PT))
    sheets.put("notice")
    sheets.put("head")
    for part in recalled(buyer):
        sheets.put(f"lot-{part.lot.pk}", **_of_part(buyer, part))
    items = {part.lot.item_id for part in recalled(buyer)}
    for item in pictured:
        if item in items:
            sheets.put(f"picture-{item}")
    sheets.put("acts")
    sheets.make_room(sum(block.height_pt for name in SLIP for block in sheets.of.blocks[name]))
    sheets.put("slip")
    if unusual:
        sheets.put(f"name-{pk}")
    else:
        sheets.put("name", name=str(buyer.customer))
    sheets.put("choices")


def address_of(buyer: Consignee) -> list[str]:
    customer = buyer.customer
    if buyer.is_many:
        return ["To everybody who bought from:", str(customer)]
    lines = [str(customer), customer.contact, *customer.address.splitlines()]
    return [" ".join(line.split()) for line in lines if line.strip()]


def recalled(buyer: Consignee) -> list[CustomerLot]:
    """What they still have some of."""
    return [part for part in buyer.parts if part.still_out > 0]


def _of_part(buyer: Consignee, part: CustomerLot) -> dict[str, str]:
    """When it was last sent and how much is left; of many buyers each has only a part of that."""
    if buyer.is_many:
        return {}
    last = day(part.last_sent_on) if part.last_sent_on else ""
    pk = part.lot.pk
    return {f"sent-{pk}": last, f"units-{pk}": number(part.still_out)}


def pictures_of(lots: Iterable[Lot]) -> Iterator[Pictured]:
    """The label of each of the first products, as it was last printed or would be now."""
    of_item = {lot.item_id: lot for lot in reversed(list(lots))}
    for lot in list(of_item.values())[::-1][:MOST_PICTURES]:
        source = _picture(lot)
        if source:
            yield Pictured(lot.item, source)


def _picture(lot: Lot) -> str:
    try:
        label = label_status(lot).shown
        printed = lot.prints.order_by("pk").last()
        layout = layout_of(printed.layout) if printed else None
        layout = layout or next((size for size in ALL if fits(label, size)), None)
        return as_source(draw(label, layout, preview=True).pdf) if layout else ""
    except ActionRefused:
        return ""
