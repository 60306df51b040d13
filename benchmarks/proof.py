"""How long `check_ledger` takes beside a bare pass over the sealed records of the book.

The bare pass reads every seal and recomputes its SHA-256, and nothing else: no proof could do less.
The command shares its work among the cores of the machine. Below stands what one process alone
takes for each check.
"""

import hashlib
import io
import os
import statistics
import time
from collections.abc import Iterable, Iterator
from datetime import timedelta
from typing import Any

from django.core.management import call_command
from django.db import connection, transaction
from django.db.models import Q

from benchmarks.shape import START, fill, insert, unguarded
from workshop.audit.all_checks import CHECKS
from workshop.core.database.sealing import Log, logs, tables_of
from workshop.core.models import User
from workshop.ledger.models import Covered, Lot, Operation, StatusChange
from workshop.ledger.services import seal_chain
from workshop.ledger.services.log_coverage import newly_written

CHUNK = 2_000
TURNS = 3
SEAL_COLUMNS = "id, number, operation_id, record, digest, previous, at, by_id"


def measure(size: int) -> Iterator[str]:
    shape = fill(size)
    with unguarded():
        seal_all(User.objects.get())
    # Turn by turn, so that a busy moment of the machine falls on both alike.
    turns = [(_timed(bare_pass), _timed(whole_proof)) for _ in range(TURNS)]
    bare_s, proof_s = map(statistics.median, zip(*turns, strict=True))
    name = f"{connection.vendor}, {shape.postings:,} postings, {os.cpu_count()} cores"
    yield _line(name, proof_s, bare_s, shape.postings)
    alone = {_named(check): _timed(check) for check in CHECKS}
    yield _line("one process alone", sum(alone.values()), bare_s, shape.postings)
    for check, seconds in alone.items():
        yield _line(f"    {check}", seconds, bare_s, shape.postings)


def _line(name: str, seconds: float, bare_s: float, postings: int) -> str:
    ratio, each = seconds / bare_s, seconds * 1e6 / postings
    return f"{name:<50}{seconds:9.2f} s{bare_s:9.2f} s{ratio:8.2f} x{each:9.2f} µs/posting"


def whole_proof() -> None:
    call_command("check_ledger", stdout=io.StringIO())


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
    previous = seal_chain.FIRST
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
        "lot_id, was, now, at, by_id, reason, despite",
        [
            (lot, "", "released", START, owner.pk, "", "")
            for lot in Lot.objects.values_list("pk", flat=True)
        ],
    )
    closed = START + timedelta(days=9)
    last = StatusChange.objects.order_by("-pk").values_list("pk", flat=True)[0]
    Covered.objects.create(table=STATUSES.key, last=last)
    others = dict(newly_written())
    Operation.objects.update(closed_at=closed, closed_by=owner)
    previous, number = seal_chain.FIRST, 0
    operations = Operation.objects.order_by("pk").values_list("pk", "kind")
    for chunk in _chunks(operations):
        records = _records(chunk, closed, owner, others)
        others, rows = {}, []
        for operation, record in records:
            number += 1
            digest = seal_chain.digest(previous, record)
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
    said, sealed = _statuses(operations), seal_chain.who_and_when(closed, owner.pk)
    for operation, kind in operations.items():
        written = {STATUSES: said[operation]} if operation in said else {}
        log = seal_chain.log_text({**others, **written})
        others = {}
        [ending] = seal_chain.endings(kind, texts, [(operation, sealed)])
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
