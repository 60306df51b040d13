"""The lists of receipts and of suppliers."""

from dataclasses import replace

from django.urls import reverse

from workshop.core.lists.columns import FLAT, Column, Day, Figure, Name, Operation
from workshop.core.lists.listing import Listing, mentioning
from workshop.goods_in.models import Receipt

SUPPLIER = Name(
    "Supplier",
    lambda receipt: receipt.supplier.name,
    to=lambda receipt: reverse("goods_in:supplier", args=[receipt.supplier_id]),
    order=("supplier__name",),
)


def _waiting(receipt: Receipt) -> int | None:
    return receipt.waiting_count or None


RECEIPTS = Listing(
    columns=[
        Operation(
            "Receipt",
            str,
            to=lambda receipt: reverse("goods_in:receipt", args=[receipt.operation.reference]),
            order=("pk",),
        ),
        Day("Received on", lambda receipt: receipt.received_on, order=("received_on",), only=FLAT),
        SUPPLIER,
        Column("Delivery note", lambda receipt: receipt.delivery_note),
        Figure("Lots", lambda receipt: receipt.lot_count),
        Figure("Undecided", _waiting),
    ],
    order=("-received_on", "-pk"),
    order_words="newest first",
    none="Nothing has come in yet.",
    search=mentioning("operation__reference", "supplier__name", "delivery_note"),
    search_word="Receipt, supplier or note",
    days="received_on",
    days_word="Received from",
    log=lambda receipt: receipt.received_on,
    file="receipts",
)
OF_ONE_SUPPLIER = replace(
    RECEIPTS, columns=[one for one in RECEIPTS.columns if one is not SUPPLIER], log=None
)
