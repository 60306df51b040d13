"""The record of a batch on paper, and what its page shows with it."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Any

from workshop.core.models import User, Workshop
from workshop.core.paper.barcodes import as_source, code128
from workshop.core.paper.pdf import pdf
from workshop.kettle.models import Batch, BatchState
from workshop.kettle.record.record_as_shown import Record, record_of, records_of
from workshop.kettle.soap_readiness import DOES_NOT_BIND, date_reasons, ready_day
from workshop.kettle.weighing.weighed_superfat import soap_in
from workshop.ledger.proof.chain_head import head


def record_context(batch: Batch) -> dict[str, Any]:
    """What the page and the paper of a batch are filled with."""
    return _context(record_of(batch))


def _context(record: Record) -> dict[str, Any]:
    batch = record.batch
    return {
        "record": record,
        "batch": batch,
        # Lye goes in before the fats: half a soap would only frighten.
        "soap": soap_in(batch) if all(line.is_done for line in record.lines) else None,
        "dates": [(lot, date_reasons(batch, lot), ready_day(lot)) for lot in record.lots],
        "does_not_bind": DOES_NOT_BIND,
        "is_decided": all(lot.status in ("released", "rejected") for lot in record.lots),
        "is_signed": any(lot.status == "released" for lot in record.lots),
        "is_poured": batch.state == BatchState.POURED,
    }


def record_pdf(batch: Batch, *, by: User, at: datetime) -> bytes:
    (made,) = record_pdfs([batch], by=by, at=at)
    return made


def record_pdfs(batches: Sequence[Batch], *, by: User, at: datetime) -> Iterator[bytes]:
    """The records of many batches, in their order; what they share is read once."""
    shared = {
        "workshop": Workshop.objects.first(), "printed_at": at, "printed_by": by, "head": head(),
    }  # fmt: skip
    for record in records_of(batches):
        context = _context(record) | shared
        context["bars"] = as_source(code128(record.batch.operation.reference))
        context["steps"] = record.batch.version.steps.all()
        yield pdf("kettle/print/record.html", context)
