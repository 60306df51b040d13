"""The lists of receipts, of suppliers and of their certificates."""

from dataclasses import replace

from django.db.models import Q
from django.urls import reverse

from workshop.core.formatting import moment
from workshop.core.lists.columns import (
    CODE,
    FLAT,
    Amount,
    Column,
    Day,
    Figure,
    LotTag,
    Name,
    Operation,
    State,
)
from workshop.core.lists.listing import Listing, Pick, mentioning
from workshop.goods_in.models import Receipt, ReceiptLine
from workshop.ledger.lists import lot_page

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
    none="Nothing has been received yet.",
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

SUPPLIERS = Listing(
    columns=[
        Name(
            "Supplier",
            lambda supplier: supplier.name,
            to=lambda supplier: reverse("goods_in:supplier", args=[supplier.pk]),
            below=lambda supplier: "" if supplier.is_active else "not in use",
            order=("name",),
            place=CODE,
        ),
        Column("Contact", lambda supplier: supplier.contact),
        Column("Telephone", lambda supplier: supplier.telephone),
        Figure("Receipts", lambda supplier: supplier.receipt_count, order=("receipt_count",)),
        Day(
            "Last receipt", lambda supplier: supplier.last_received_on, order=("last_received_on",)
        ),
    ],
    order=("-is_active", "name"),
    order_words="by name",
    none="There is no supplier yet.",
    search=mentioning("name", "contact", "telephone", "email"),
    search_word="Name, contact or telephone",
    file="suppliers",
)

OF_SUPPLIER = Column(
    "Supplier",
    lambda certificate: certificate.supplier.name,
    to=lambda certificate: reverse("goods_in:supplier", args=[certificate.supplier_id]),
    order=("supplier__name",),
)
CERTIFICATES = Listing(
    columns=[
        Name(
            "Certificate",
            lambda certificate: f"{certificate.certifier} {certificate.number}",
            to=lambda certificate: reverse("goods_in:certificate", args=[certificate.pk]),
            order=("certifier", "number"),
            place=CODE,
        ),
        OF_SUPPLIER,
        Day("Valid from", lambda certificate: certificate.valid_from, order=("valid_from",)),
        Day("Valid to", lambda certificate: certificate.valid_to, order=("valid_to",)),
        State(
            "State today",
            lambda certificate: certificate.state,
            key_of=lambda certificate: certificate.state,
        ),
    ],
    order=("-valid_to", "number"),
    order_words="longest valid first",
    none="No certificate has been entered yet.",
    search=mentioning("certifier", "number", "supplier__name", "scope"),
    search_word="Certifier, number or supplier",
    picks=[
        Pick(word, word.capitalize(), Q(state=word), kind)
        for word, kind in (
            ("valid", "good"),
            ("renewal due", "wait"),
            ("expired", "stop"),
            ("to come", "plain"),
        )
    ],
    days="valid_to",
    days_word="Valid to, from",
    file="certificates",
)


def _line_state(line: ReceiptLine) -> str:
    return "taken back" if line.taken_back else line.lot.get_status_display()


def _line_key(line: ReceiptLine) -> str:
    return "taken_back" if line.taken_back else line.lot.status


def _why_taken_back(line: ReceiptLine) -> str:
    back = line.taken_back
    return f"{back.reason} ({back.by}, {moment(back.at)})" if back else ""


LOTS_UNDER_CERTIFICATE = Listing(
    columns=[
        LotTag(
            "Lot",
            lambda line: line.lot.shown_code,
            to=lambda line: lot_page(line.lot),
            order=("lot__code",),
        ),
        Name(
            "Item",
            lambda line: line.lot.item.name,
            to=lambda line: reverse("materials:material", args=[line.lot.item.code]),
            below=lambda line: line.supplier_lot,
            order=("lot__item__name",),
        ),
        Operation(
            "Receipt",
            lambda line: line.receipt.operation.reference,
            to=lambda line: reverse("goods_in:receipt", args=[line.receipt.operation.reference]),
            order=("receipt",),
            place="",
        ),
        Amount(
            "Received",
            lambda line: line.posting.quantity,
            unit=lambda line: line.lot.item.unit,
            order=("posting__quantity",),
        ),
        Day("Expiry (or retest)", lambda line: line.lot.best_before, order=("lot__best_before",)),
        Column("Organic", lambda line: "yes" if line.is_organic else "no"),
        State(
            "State",
            _line_state,
            key_of=_line_key,
            below=_why_taken_back,
            order=("lot__status",),
        ),
    ],
    order=("-pk",),
    order_words="newest first",
    none="None yet.",
    search=mentioning("lot__code", "lot__item__name", "supplier_lot"),
    search_word="Lot, supplier lot or item",
    file="lots-under-certificate",
)
