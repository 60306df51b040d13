"""How each kind of thing in the book is named and where it is shown, for the scan box."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from urllib.parse import urlencode

from django.db.models import OuterRef, QuerySet, Subquery
from django.urls import reverse
from django.utils import timezone

from workshop.aftersales.models import Complaint, Recall
from workshop.core.formatting import day
from workshop.core.models import User
from workshop.counts.models import CountRound
from workshop.dispatch.models import Customer, Dispatch
from workshop.goods_in.models import Certificate, Receipt, ReceiptLine, Supplier
from workshop.ledger.models import Item, ItemKind, Lot, Operation, OperationKind, Place, Posting
from workshop.packing.models import Product

MOST_OF_A_KIND = 10
# Room, page and what it is shown by, for the acts that have a page of their own.
PAGES = {
    OperationKind.RECEIPT: "goods_in:receipt",
    OperationKind.BATCH: "kettle:batch",
    OperationKind.PACKING: "packing:run",
    OperationKind.DISPATCH: "dispatch:dispatch",
}


@dataclass(frozen=True)
class Hit:
    """One thing the text may mean, and the page that shows it."""

    what: str
    name: str
    about: str
    address: str


def lots(rows: QuerySet[Lot]) -> Iterator[Hit]:
    yield from map(lot, rows.select_related("item")[:MOST_OF_A_KIND])


def lot(row: Lot) -> Hit:
    about = f"{row.item}, {day(row.made_on)}, {row.get_status_display()}"
    return Hit("lot", row.shown_code, about, reverse("trace:lot", args=[row.code]))


def operations(references: Collection[str]) -> Iterator[Hit]:
    first_lot = Posting.objects.filter(operation=OuterRef("pk")).order_by("pk").values("lot__code")
    rows = Operation.objects.filter(reference__in=references).annotate(
        lot_code=Subquery(first_lot[:1])
    )
    for row in rows.select_related("returned__dispatch__operation"):
        address = _operation_address(row, row.lot_code)
        if address:
            about = day(timezone.localdate(row.opened_at))
            yield Hit(row.get_kind_display(), row.reference, about, address)


def _operation_address(row: Operation, lot_code: str | None) -> str:
    if row.kind in PAGES:
        return reverse(PAGES[OperationKind(row.kind)], args=[row.reference])
    if row.kind == OperationKind.RETURN and hasattr(row, "returned"):
        sent = row.returned.dispatch.operation.reference
        return reverse("dispatch:dispatch", args=[sent]) + f"#{row.reference}"
    # A count, a discard, a loss in store and an unpacking are about one lot and stand on its page.
    return reverse("ledger:lot", args=[lot_code]) if lot_code else ""


def arrivals(rows: QuerySet[ReceiptLine]) -> Iterator[Hit]:
    rows = rows.select_related("lot__item", "receipt__supplier")
    for row in rows.order_by("-pk")[:MOST_OF_A_KIND]:
        about = (
            f"{row.receipt.supplier}, {row.lot.item}, {day(row.receipt.received_on)}: "
            f"our lot {row.lot}{', taken back' if row.taken_back_id else ''}"
        )
        address = reverse("trace:lot", args=[row.lot.code])
        yield Hit("supplier lot", row.supplier_lot, about, address)


def complaints(rows: QuerySet[Complaint]) -> Iterator[Hit]:
    for row in rows.select_related("product", "customer")[:MOST_OF_A_KIND]:
        about = f"{row.get_nature_display()}, {row.product or 'product not known'}"
        caller = ", ".join(str(one) for one in (row.told_by, row.customer) if one)
        about += f", from {caller}" if caller else ""
        yield Hit("complaint", row.reference, about, reverse("aftersales:complaint", args=[row]))


def recalls(references: Collection[str]) -> Iterator[Hit]:
    for row in Recall.objects.filter(reference__in=references).select_related("lot__item"):
        about = f"{row.lot.item}, lot {row.lot}"
        yield Hit(row.word, row.reference, about, reverse("aftersales:recall", args=[row]))


def dispatches(rows: QuerySet[Dispatch]) -> Iterator[Hit]:
    for row in rows.select_related("customer", "operation")[:MOST_OF_A_KIND]:
        about = f"{row.customer}, {day(row.sent_on)}{', taken back' if row.taken_back_id else ''}"
        if row.customer_reference:
            about += f", their {row.customer_reference}"
        address = reverse("dispatch:dispatch", args=[row.operation.reference])
        yield Hit("dispatch", row.operation.reference, about, address)


def receipts(rows: QuerySet[Receipt]) -> Iterator[Hit]:
    for row in rows.select_related("supplier", "operation")[:MOST_OF_A_KIND]:
        about = f"{row.supplier}, {day(row.received_on)}"
        if row.delivery_note:
            about += f", delivery note {row.delivery_note}"
        address = reverse("goods_in:receipt", args=[row.operation.reference])
        yield Hit("receipt", row.operation.reference, about, address)


def certificates(rows: QuerySet[Certificate]) -> Iterator[Hit]:
    for row in rows.select_related("supplier")[:MOST_OF_A_KIND]:
        about = f"{row.supplier}, {row.certifier}, valid to {day(row.valid_to)}"
        address = reverse("goods_in:certificate", args=[row.pk])
        yield Hit("certificate", row.number, about, address)


def items(rows: QuerySet[Item]) -> Iterator[Hit]:
    for row in rows[:MOST_OF_A_KIND]:
        address = reverse("ledger:item", args=[row.code])
        yield Hit(ItemKind(row.kind).label, row.name, row.code, address)


def places(rows: QuerySet[Place]) -> Iterator[Hit]:
    for row in rows[:MOST_OF_A_KIND]:
        about = f"{row.get_kind_display()}, {row.code}"
        yield Hit("place", row.name, about, reverse("counts:place", args=[row.code]))


def rounds(rows: QuerySet[CountRound]) -> Iterator[Hit]:
    for row in rows.select_related("place"):
        address = reverse("counts:round", args=[row.reference])
        yield Hit("round of counting", row.reference, row.chosen_by, address)


def products(gtins: Iterable[str]) -> Iterator[Hit]:
    for row in Product.objects.filter(gtin__in=list(gtins)).select_related("item"):
        address = reverse("packing:product", args=[row.item.code])
        yield Hit("product", row.item.name, f"GTIN {row.gtin}", address)


def people(rows: QuerySet[User]) -> Iterator[Hit]:
    for row in rows[:MOST_OF_A_KIND]:
        address = f"{reverse('core:people')}?{urlencode({'q': row.username})}"
        yield Hit("person", str(row), row.get_role_display(), address)


def customers(rows: QuerySet[Customer]) -> Iterator[Hit]:
    for row in rows[:MOST_OF_A_KIND]:
        address = reverse("dispatch:customer", args=[row.pk])
        yield Hit("customer", row.name, row.contact, address)


def suppliers(rows: QuerySet[Supplier]) -> Iterator[Hit]:
    for row in rows[:MOST_OF_A_KIND]:
        yield Hit("supplier", row.name, row.contact, reverse("goods_in:supplier", args=[row.pk]))
