"""The list of a recall's customers for a mail merge; see `letters` for ours."""

import csv
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from io import StringIO

from django.utils.timezone import localdate

from workshop.aftersales.models import Recall
from workshop.aftersales.recalls.consignees import Consignee, CustomerLot
from workshop.aftersales.recalls.scope import RecallScope
from workshop.core.files.spreadsheets import safe_text

HEADS = [
    "recall",
    "customer",
    "contact",
    "address",
    "email",
    "telephone",
    "product",
    "lot",
    "best before",
    "sent",
    "came back",
    "still out",
    "of that on its way",
    "last sent on",
    "told on",
    "answered on",
]


def merge_sheet(recall: Recall, reach: RecallScope) -> str:
    """One row a customer and lot as CSV (RFC 4180), with contacts for a mail merge."""
    out = StringIO()
    writer = csv.writer(out)
    writer.writerow(HEADS)
    for buyer in reach.buyers:
        for part in buyer.parts:
            writer.writerow([safe_text(cell) for cell in _row(recall, buyer, part)])
    return out.getvalue()


def _row(recall: Recall, buyer: Consignee, part: CustomerLot) -> Iterator[str]:
    customer = buyer.customer
    yield from (recall.reference, customer.name, customer.contact)
    yield from (customer.address, customer.email, customer.telephone)
    yield from (part.lot.item.name, str(part.lot), _day(part.lot.best_before))
    yield from (_units(part.sent), _units(part.back), _units(part.still_out))
    yield _units(buyer.on_its_way_of(part.lot))
    yield _day(part.last_sent_on)
    for entry in (buyer.told, buyer.answer):
        yield _day(localdate(entry.at) if entry else None)


def _units(units: Decimal) -> str:
    return f"{units:.0f}"


def _day(day: date | None) -> str:
    return day.isoformat() if day else ""
