"""How long the proof of the whole book takes beside a bare pass over its sealed records.

The bare pass reads every seal and recomputes its SHA-256, and nothing else: no proof could do less.
"""

import hashlib
import time
from collections.abc import Iterable, Iterator
from datetime import timedelta
from typing import Any

from django.db import connection, transaction
from django.db.models import Q

from benchmarks.shape import START, fill, insert
from workshop.audit.all_checks import CHECKS
from workshop.core.database.sealing import Log, logs, tables_of
from workshop.core.models import User
from workshop.ledger.models import Covered, Lot, Operation, StatusChange
from workshop.ledger.services import seals
from workshop.ledger.services.log_coverage import newly_written

CHUNK = 2_000
HEAD = (
    f"\n{'proof of the whole book':<34}{'s':>10}{'bare pass, s':>15}{'ratio':>9}{'µs/posting':>13}"
)
SEAL_COLUMNS = "id, number, operation_id, record, digest, previous, at, by_id"


def measure(size: int) -> Iterator[str]:
    shape = fill(size)
    seal_all(User.objects.get())
    bare_s = min(_timed(bare_pass) for _ in range(2))
    by_check = {_named(check): _timed(check) for check in CHECKS}
    proof_s = sum(by_check.values())
    per_posting = proof_s * 1e6 / shape.postings
    name = f"{connection.vendor}, {shape.postings:,} postings"
    yield f"{name:<34}{proof_s:10.2f}{bare_s:15.2f}{proof_s / bare_s:7.2f} x{per_posting:13.2f}"
    for check, seconds in by_check.items():
        yield f"    {check:<37}{seconds:10.2f}{seconds / bare_s:22.2f} x"


def _named(check: Any) -> str:
    """Two rooms may have a check of the same name."""
    return f"{check.__module__.split('.', 1)[1]}.{check.__name__}"


def _timed(work: Any) -> float:
    began = time.perf_counter()
    found = work()
    taken = time.perf_counter() - began
    if getattr(found, "problems", None):
        raise ValueError(found.problems)
    return taken


def bare_pass() -> None:
    previous = seals.FIRST
    with connection.cursor() as cursor:
        cursor.execute("SELECT record, digest FROM ledger_seal ORDER BY number")
        while rows := cursor.fetchmany(CHUNK):
            for record, digest in rows:
                if hashlib.sha256(f"{previous}\n{record}".encode()).hexdigest() != digest:
                    raise ValueError(digest)
                previous = digest


@transaction.atomic
def seal_all(owner: User) -> None:
    """Close and seal every operation as its service would, many at a time."""
    insert(
        "ledger_statuschange",
        "lot_id, was, now, at, by_id, reason",
        [
            (lot, "", "released", START, owner.pk, "")
            for lot in Lot.objects.values_list("pk", flat=True)
        ],
    )
    closed = START + timedelta(days=9)
    last = StatusChange.objects.order_by("-pk").values_list("pk", flat=True)[0]
    Covered.objects.create(table=STATUSES.key, last=last)
    others = dict(newly_written())
    Operation.objects.update(closed_at=closed, closed_by=owner)
    previous, number = seals.FIRST, 0
    operations = Operation.objects.order_by("pk").values_list("pk", "kind")
    for chunk in _chunks(operations):
        records = _records(chunk, closed, owner, others)
        others, rows = {}, []
        for operation, record in records:
            number += 1
            digest = seals.digest(previous, record)
            rows.append((number, number, operation, record, digest, previous, closed, owner.pk))
            previous = digest
        insert("ledger_seal", SEAL_COLUMNS, rows)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def _chunks(operations: Any) -> Iterator[dict[int, str]]:
    rows = list(operations)
    for start in range(0, len(rows), CHUNK):
        yield dict(rows[start : start + CHUNK])


def _records(
    operations: dict[int, str], closed: Any, owner: User, others: dict[Log, Any]
) -> Iterator[tuple[int, str]]:
    tables = {table for kind in operations.values() for table in tables_of(kind)}
    ends = (min(operations), max(operations))
    texts = {table.key: table.texts(ends) for table in tables}
    said, sealed = _statuses(operations), seals.who_and_when(closed, owner.pk)
    for operation, kind in operations.items():
        written = {STATUSES: said[operation]} if operation in said else {}
        log = seals.log_text({**others, **written})
        others = {}
        [ending] = seals.endings(kind, texts, [(operation, sealed)])
        yield operation, f'{{"details":{{}},"log":{log}{ending}'


STATUSES = next(log for log in logs() if log.model is StatusChange)


def _statuses(operations: Iterable[int]) -> dict[int, list[str]]:
    within = Q(lot__origin__gte=min(operations), lot__origin__lte=max(operations))
    origin = dict(StatusChange.objects.filter(within).values_list("pk", "lot__origin"))
    texts = STATUSES.texts(min(origin), max(origin)) if origin else {}
    found: dict[int, list[str]] = {}
    for pk, text in texts.items():
        found.setdefault(origin[pk], []).append(text)
    return found
