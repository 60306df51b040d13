"""A trace as a table for a spreadsheet."""

import csv
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from io import StringIO

from workshop.goods_in.models import ReceiptLine
from workshop.ledger.models import Lot
from workshop.ledger.reads import Balance
from workshop.trace.reads import Sending, Trace

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
    "supplier",
    "supplier lot",
    "certificate",
    "certificate valid to",
    "customer",
    "customer reference",
    "dispatch",
    "sent on",
    "taken for this trace",
    "shared with the traced lot",
    "received or made",
    "used",
    "sent",
    "returned",
    "discarded",
    "counted difference",
    "on hand",
]
CellValue = str | Decimal | date | None
# Cells that a spreadsheet would run as a formula.
RISKY = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")


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
    return f"'{value}" if value.lstrip(" ").startswith(RISKY) else value


def rows_of(trace: Trace) -> Iterator[dict[str, CellValue]]:
    yield {
        "relation": "this lot",
        **_lot(trace.lot),
        **_arrival(trace.arrival),
        **_balance(trace.balance),
    }
    for source in (*trace.bought, *trace.made_here):
        yield {
            "relation": "went into it",
            **_lot(source.lot),
            **_arrival(source.arrival),
            "taken for this trace": source.taken,
            "shared with the traced lot": source.inside,
        }
    for made in trace.products:
        yield {
            "relation": "made from it",
            **_lot(made.lot),
            **_balance(made.balance),
            "shared with the traced lot": made.inside,
        }
    for sending in trace.sendings:
        yield {"relation": "sent out", **_sending(sending)}


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


def _arrival(line: ReceiptLine | None) -> dict[str, CellValue]:
    if line is None:
        return {}
    return {
        "supplier": line.receipt.supplier.name,
        "supplier lot": line.supplier_lot,
        "certificate": str(line.certificate) if line.certificate else None,
        "certificate valid to": line.certificate.valid_to if line.certificate else None,
    }


def _balance(held: Balance) -> dict[str, CellValue]:
    return {
        "received or made": held.came_in,
        "used": held.used,
        "sent": held.sent,
        "returned": held.returned,
        "discarded": held.discarded,
        "counted difference": held.counted,
        "on hand": held.on_hand,
    }


def _sending(sending: Sending) -> dict[str, CellValue]:
    dispatch = sending.dispatch
    return {
        "lot": sending.lot.shown_code,
        "item code": sending.lot.item.code,
        "item": sending.lot.item.name,
        "unit": sending.lot.item.unit,
        "customer": dispatch.customer.name,
        "customer reference": dispatch.customer_reference,
        "dispatch": dispatch.operation.reference,
        "sent on": dispatch.sent_on,
        "shared with the traced lot": sending.inside,
        "sent": sending.units,
        "returned": sending.back,
    }
