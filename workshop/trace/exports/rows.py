"""A trace as a table for a spreadsheet."""

import csv
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from io import StringIO

from workshop.core.files.spreadsheets import safe_text
from workshop.goods_in.models import Certificate, ReceiptLine
from workshop.ledger.models import Lot
from workshop.ledger.stock_queries import Balance
from workshop.trace.lot.result import Descendant, Sending, Source, Trace, Who
from workshop.trace.lot.under_way import under_way

HEADS = [
    "relation",
    "lot",
    "item code",
    "item",
    "unit",
    "status",
    "in or made on",
    "best before",
    "operation",
    "received by",
    "weighed by",
    "poured by",
    "packed by",
    "supplier",
    "supplier contact",
    "supplier telephone",
    "supplier e-mail",
    "supplier lot",
    "certificate",
    "certified by",
    "certificate valid from",
    "certificate valid to",
    "certificate document",
    "customer",
    "customer contact",
    "customer telephone",
    "customer e-mail",
    "customer reference",
    "dispatch",
    "sent on",
    "sent by",
    "taken for this trace",
    "shared with the traced lot",
    "received or made",
    "used",
    "sent",
    "returned",
    "on its way",
    "with customers",
    "discarded",
    "dried, trimmed or sampled",
    "counted difference",
    "on hand",
    "of that retained as samples",
]
CellValue = str | Decimal | date | None


def sheet(trace: Trace) -> str:
    """Every row of the trace as CSV (RFC 4180), a header first, amounts in each lot's own unit."""
    out = StringIO()
    writer = csv.writer(out)
    writer.writerow(HEADS)
    for row in rows_of(trace):
        writer.writerow([_cell(row.get(head)) for head in HEADS])
    return out.getvalue()


def _cell(value: CellValue) -> str:
    if value is None:
        return ""
    if isinstance(value, Decimal):
        return f"{value:.3f}"
    if isinstance(value, date):
        return value.isoformat()
    return safe_text(value)


def rows_of(trace: Trace) -> Iterator[dict[str, CellValue]]:
    yield {
        "relation": "this lot",
        **_lot(trace.lot),
        **_who(trace.who),
        **_arrival(trace.arrival),
        **_balance(trace.balance, on_its_way=trace.on_its_way, kept_back=trace.retained),
    }
    for source in (*trace.bought, *trace.made_here):
        yield {
            "relation": _relation("went into it", source),
            **_lot(source.lot),
            **_who(source.who),
            **_arrival(source.arrival),
            "taken for this trace": source.taken,
            "shared with the traced lot": source.inside,
        }
    for made in trace.products:
        yield {
            "relation": _relation("made from it", made),
            **_lot(made.lot),
            **_who(made.who),
            **_balance(made.balance, on_its_way=made.on_its_way, kept_back=made.retained),
            "shared with the traced lot": made.inside,
        }
    for one in under_way(trace):
        yield {
            "relation": "in process now",
            **_lot(one.lot),
            "operation": one.operation.reference,
            "taken for this trace": one.taken,
        }
    for sending in trace.sendings:
        yield {"relation": "sent out", **_sending(sending)}


def _relation(word: str, other: Source | Descendant) -> str:
    return f"{word}, strained out" if other.is_strained_out else word


def _lot(lot: Lot) -> dict[str, CellValue]:
    return {
        "lot": lot.shown_code,
        "item code": lot.item.code,
        "item": lot.item.name,
        "unit": lot.item.unit,
        "status": lot.get_status_display(),
        "in or made on": lot.made_on,
        "best before": lot.best_before,
        "operation": lot.origin.reference,
    }


def _who(who: Who) -> dict[str, CellValue]:
    return {
        "received by": ", ".join(who.received),
        "weighed by": ", ".join(who.weighed),
        "poured by": ", ".join(who.poured),
        "packed by": ", ".join(who.packed),
    }


def _arrival(line: ReceiptLine | None) -> dict[str, CellValue]:
    if line is None:
        return {}
    supplier = line.receipt.supplier
    return {
        "supplier": supplier.name,
        "supplier contact": supplier.contact,
        "supplier telephone": supplier.telephone,
        "supplier e-mail": supplier.email,
        "supplier lot": line.supplier_lot,
        **(_certificate(line.certificate) if line.certificate else {}),
    }


def _certificate(certificate: Certificate) -> dict[str, CellValue]:
    return {
        "certificate": certificate.number,
        "certified by": certificate.certifier,
        "certificate valid from": certificate.valid_from,
        "certificate valid to": certificate.valid_to,
        "certificate document": str(certificate.document) if certificate.document else None,
    }


def _balance(held: Balance, *, on_its_way: Decimal, kept_back: Decimal) -> dict[str, CellValue]:
    return {
        "received or made": held.came_in,
        "used": held.used,
        "sent": held.sent,
        "returned": held.returned,
        "on its way": on_its_way,
        "with customers": held.sent - held.returned - on_its_way,
        "discarded": held.discarded,
        "dried, trimmed or sampled": held.shed,
        "counted difference": held.counted,
        "on hand": held.on_hand,
        "of that retained as samples": kept_back,
    }


def _sending(sending: Sending) -> dict[str, CellValue]:
    dispatch, customer = sending.dispatch, sending.customer
    return {
        "lot": sending.lot.shown_code,
        "item code": sending.lot.item.code,
        "item": sending.lot.item.name,
        "unit": sending.lot.item.unit,
        "customer": customer.name,
        "customer contact": customer.contact,
        "customer telephone": customer.telephone,
        "customer e-mail": customer.email,
        "customer reference": dispatch.customer_reference,
        "dispatch": dispatch.operation.reference,
        "sent on": dispatch.sent_on,
        "sent by": ", ".join(sending.sent_by),
        "shared with the traced lot": sending.inside,
        "sent": sending.units,
        "returned": sending.back,
        "on its way": sending.on_its_way,
        "with customers": sending.still_out - sending.on_its_way,
    }
