"""Builders for EPCIS: a story with every act in it, and a supplier's document."""

import json
from datetime import timedelta
from decimal import Decimal
from typing import Any

from tests import make
from tests.trace.test_pages import Job
from workshop.ledger import services as ledger
from workshop.ledger.models import OperationKind, Posting, Side
from workshop.packing.models import Product
from workshop.trace.exports import epcis
from workshop.trace.lot.events import events_of
from workshop.trace.lot.query import trace

BASE = "https://book.example"
GTIN = "9521234543213"  # from the range that GS1 keeps for examples
LATER = make.NOON + timedelta(hours=3)


class Story(Job):
    """The job, its product with a GTIN, some wax written off, some found, one weighing mended."""

    def __init__(self) -> None:
        super().__init__()
        self.by = make.user()
        Product.objects.create(
            item=self.jars.item,
            bulk=self.salve.item,
            container=self.tins.item,
            fill_g=Decimal(60),
            gtin=GTIN,
            label_name="Hand salve",
        )
        why: dict[str, Any] = {"by": self.by, "at": LATER}
        ledger.discard(self.wax, Decimal("12.5"), reason="Fell down", token="d", **why)
        ledger.count_lot(self.wax, Decimal(4800), reason="Counted", token="c", **why)
        self.mend(**why)

    def mend(self, **why: Any) -> None:
        """The salve's wax was 210.125 g and not 200."""
        batch = self.salve.origin
        ledger.amend_operation(batch, reason="Read from the wrong line", **why)
        wrong = Posting.objects.get(operation=batch, lot=self.wax, side=Side.IN)
        ledger.reverse(wrong, reason="Read from the wrong line", **why)
        ledger.post(batch, self.wax, Side.IN, Decimal("210.125"), **why)
        batch.refresh_from_db()
        ledger.close_operation(batch, **why)

    def told(self, lot: Any = None) -> dict[str, Any]:
        """The document about the wax, numbers exact."""
        text = epcis.document(events_of(trace(lot or self.wax)), base=BASE, at=LATER)
        found: dict[str, Any] = json.loads(text, parse_float=Decimal, parse_int=Decimal)
        return found

    def events(self, lot: Any = None) -> list[dict[str, Any]]:
        found: list[dict[str, Any]] = self.told(lot)["epcisBody"]["eventList"]
        return found


def of_act(events: list[dict[str, Any]], record: OperationKind | str) -> list[dict[str, Any]]:
    return [event for event in events if str(event["tarebook:record"]).startswith(f"{record}-")]


def shipped(*elements: dict[str, Any], **event: Any) -> dict[str, Any]:
    """A supplier's document of one shipping event."""
    return {
        "@context": [epcis.CONTEXT],
        "type": "EPCISDocument",
        "schemaVersion": "2.0",
        "creationDate": "2026-11-24T08:00:00+01:00",
        "epcisBody": {
            "eventList": [
                {
                    "type": "ObjectEvent",
                    "action": "OBSERVE",
                    "bizStep": "shipping",
                    "eventTime": "2026-11-24T08:00:00+01:00",
                    "eventTimeZoneOffset": "+01:00",
                    "quantityList": list(elements),
                    **event,
                }
            ]
        },
    }
