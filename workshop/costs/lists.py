"""The list of deliveries with what was paid for them."""

from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.urls import reverse

from workshop.core.lists.columns import Column, Day, Figure, Operation
from workshop.core.lists.listing import Listing, Pick, mentioning
from workshop.costs.models import Invoice
from workshop.goods_in.lists import SUPPLIER
from workshop.goods_in.models import Receipt, ReceiptLine

PRICED = Q(has_invoice=True) | Q(lacks_price=False)


def deliveries() -> QuerySet[Receipt]:
    """Every receipt: whether an invoice was entered, or a lot came without a price noted."""
    invoices = Invoice.objects.filter(receipt=OuterRef("pk"))
    lots = ReceiptLine.objects.effective().filter(receipt=OuterRef("pk"))
    rows = Receipt.objects.with_counts().select_related("operation", "supplier")
    return rows.filter(Exists(lots)).annotate(
        has_invoice=Exists(invoices), lacks_price=Exists(lots.filter(cost=None))
    )


def _state(receipt: Any) -> str:
    if receipt.has_invoice:
        return "invoice entered"
    return "no price" if receipt.lacks_price else "price noted at goods-in"


DELIVERIES = Listing(
    columns=[
        Operation(
            "Receipt",
            str,
            to=lambda receipt: reverse("costs:invoice", args=[receipt.operation.reference]),
            order=("pk",),
        ),
        Day("Received on", lambda receipt: receipt.received_on, order=("received_on",)),
        SUPPLIER,
        Column("Delivery note", lambda receipt: receipt.delivery_note),
        Figure("Lots", lambda receipt: receipt.lot_count),
        Column("Price", _state),
    ],
    order=("-received_on", "-pk"),
    order_words="newest first",
    none="Nothing has been received yet.",
    search=mentioning("operation__reference", "supplier__name", "delivery_note"),
    search_word="Receipt, supplier or note",
    picks=[
        Pick("without", "Without a price", ~PRICED, "wait"),
        Pick("with", "Priced", PRICED, "good"),
    ],
    days="received_on",
    days_word="Received from",
    file="deliveries",
)
