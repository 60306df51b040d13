"""Closing an operation seals it: each seal covers the record and the seal before it.

A record is one JSON text. Its `tables` are the rows of the operation in the tables that the rooms
name in their `sealed_tables.py`; its `log` are the rows that were written into logs and into the
history of master data since the seal before; its `details` are what was said and stands in no
table.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime
from functools import cache
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder

from workshop.core.database.sealing import Log, Table, Texts, tables_of
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
    tables = tables_of(operation.kind)
    texts = {table.key: table.texts([operation.pk]) for table in tables}
    ends = ending(tables, texts, operation.pk, sealed=who_and_when(at, by.pk))
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


def ending(
    tables: Sequence[Table], texts: Mapping[str, Texts], operation: int, *, sealed: str
) -> str:
    """How the record of an operation ends: who sealed it when, and its rows in every table."""
    rows = [",".join(texts[table.key].get(operation, ())) for table in tables]
    return _form(tuple(tables)).format(sealed, *rows)


@cache
def _form(tables: tuple[Table, ...]) -> str:
    """The ending with a gap for who and when, and one for the rows of each table."""
    sections = ",".join(f"{_braced(table.opening)}{{}}]}}}}" for table in tables)
    return f',"sealed":{{}},"tables":{{{{{sections}}}}}}}}}'


def _braced(text: str) -> str:
    return text.replace("{", "{{").replace("}", "}}")


def log_text(written: Mapping[Log, Iterable[str]]) -> str:
    """What a record says of the logs, the logs in the order they come in."""
    sections = (f"{log.opening}{','.join(rows)}]}}" for log, rows in written.items())
    return f"{{{','.join(sections)}}}"
