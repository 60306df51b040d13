"""Closing an operation seals it: each seal covers the record and the seal before it."""

import hashlib
import json
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder
from django.db.models import Prefetch, prefetch_related_objects

from workshop.core.locks import take_turns
from workshop.core.models import User
from workshop.ledger.models import Operation, Posting, Seal

FIRST = "0" * 64


def seal(operation: Operation, *, by: User, at: datetime, details: Mapping[str, Any]) -> Seal:
    """Add the next link of the chain for an operation, read and locked just before."""
    take_turns("seal")
    with_lots = Posting.objects.select_related("lot")
    prefetch_related_objects([operation], "lots", Prefetch("postings", with_lots))
    last, previous = Seal.objects.order_by("-number").values_list("number", "digest").first() or (
        0,
        FIRST,
    )
    record = canonical(
        {
            **ledger_record(operation),
            "details": details,
            "sealed_at": moment(at),
            "sealed_by": by.pk,
        }
    )
    return Seal.objects.create(
        number=last + 1,
        operation=operation,
        record=record,
        digest=digest(previous, record),
        previous=previous,
        at=at,
        by=by,
    )


def digest(previous: str, record: str) -> str:
    return hashlib.sha256(f"{previous}\n{record}".encode()).hexdigest()


def canonical(record: Mapping[str, Any]) -> str:
    """The one spelling of a record: sorted keys, no spaces, exact numbers as text."""
    return json.dumps(record, sort_keys=True, separators=(",", ":"), cls=DjangoJSONEncoder)


def moment(at: datetime) -> str:
    return at.astimezone(UTC).isoformat(timespec="microseconds")


def ledger_record(operation: Operation) -> dict[str, Any]:
    """What the ledger itself says of an operation: head, lots made and every posting."""
    return {
        "operation": operation.reference,
        "kind": operation.kind,
        "opened_at": moment(operation.opened_at),
        "opened_by": operation.opened_by_id,
        "lots": sorted(lot.code for lot in operation.lots.all()),
        "postings": [posting_record(row) for row in _postings(operation)],
    }


def _postings(operation: Operation) -> list[Posting]:
    # `all()`, so that a caller who looks at many operations may prefetch.
    return sorted(operation.postings.all(), key=lambda posting: posting.pk)


def posting_record(posting: Posting) -> dict[str, Any]:
    return {
        "token": posting.token,
        "lot": posting.lot.code,
        "side": posting.side,
        "thousandths": int(posting.quantity.scaleb(3)),
        "at": moment(posting.at),
        "by": posting.by_id,
        "corrects": posting.corrects_id,
        "reason": posting.reason,
    }
