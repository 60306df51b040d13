"""Closing an operation seals it: each seal covers the record and the seal before it.

A record is one JSON text. Its `tables` are the rows of the operation in the tables that the rooms
name in their `sealed_tables.py`; its `log` are the rows that were written into logs and into the
history of master data since the seal before; its `details` are what was said and stands in no
table.
"""

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime
from itertools import repeat
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder

from workshop.core.database.sealing import Log, Texts, tables_of
from workshop.core.models import User
from workshop.core.saving.locks import advisory_lock
from workshop.ledger.models import Operation, Seal
from workshop.ledger.services.log_coverage import newly_written

FIRST = "0" * 64


def seal(operation: Operation, *, by: User, at: datetime, details: Mapping[str, Any]) -> Seal:
    """Add the next link of the chain for an operation, read and locked just before."""
    advisory_lock("seal")
    newest = Seal.objects.order_by("-number").values_list("number", "digest").first()
    last, previous = newest or (0, FIRST)
    own = (operation.pk, operation.pk)
    texts = {table.key: table.texts(own) for table in tables_of(operation.kind)}
    sealed = who_and_when(at, by.pk)
    [ends] = endings(operation.kind, texts, [(operation.pk, sealed)])
    record = f'{{"details":{canonical(details)},"log":{log_text(newly_written())}{ends}'
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


def canonical(record: Any) -> str:
    """The one spelling of a record: sorted keys, no spaces, exact numbers as text."""
    return json.dumps(record, sort_keys=True, separators=(",", ":"), cls=DjangoJSONEncoder)


def who_and_when(at: datetime, by: int) -> str:
    """As the database writes the same two columns of a seal's own row."""
    return f'["{at.astimezone(UTC):%Y-%m-%d %H:%M:%S.%f}",{by}]'


def endings(
    kind: str, texts: Mapping[str, Texts], sealed: Sequence[tuple[int, str]]
) -> Iterator[str]:
    """How the records of operations end: who sealed each when, and its rows in every table."""
    operations = [operation for operation, _ in sealed]
    parts: list[Iterable[str]] = [repeat(',"sealed":'), (said for _, said in sealed)]
    between = ',"tables":{'
    for table in tables_of(kind):
        between += table.opening
        if texts[table.key]:  # of most tables nothing belongs to any of these
            rows = map(texts[table.key].get, operations, repeat(""))
            parts += [repeat(between), rows]
            between = ""
        between += "]},"
    return map("".join, zip(*parts, repeat(between.removesuffix(",") + "}}"), strict=False))


def log_text(written: Mapping[Log, Iterable[str]]) -> str:
    """What a record says of the logs, the logs in the order they come in."""
    sections = (f"{log.opening}{','.join(rows)}]}}" for log, rows in written.items())
    return f"{{{','.join(sections)}}}"
