"""Proof of the seals: the chain is unbroken, and the tables still say what each record says.

The book is read in chunks with a few questions each. Where the text of a record ends as the rows
of today do, nothing is taken apart; only what differs is read closely and named.
"""

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice
from typing import Any, NamedTuple

from django.db.models import BooleanField, ExpressionWrapper, Max, Q

from workshop.core.database.row_text import row_text
from workshop.core.database.sealing import Table, Texts, among, tables_of
from workshop.core.progress import ProgressWatch, unwatched
from workshop.ledger.models import Operation, Seal
from workshop.ledger.proof.differences import told
from workshop.ledger.proof.findings import Finding
from workshop.ledger.proof.logs import LogProof
from workshop.ledger.services import seals

CHUNK = 1000


@dataclass(frozen=True)
class Mark:
    """How far a proof came: the last seal that held, and the last row of each log it covers."""

    number: int = 0
    digest: str = seals.FIRST
    logs: Mapping[str, int] = field(default_factory=dict)


class SealLink(NamedTuple):
    """One seal as its row has it, with the operation that it is of."""

    number: int
    record: str
    digest: str
    previous: str
    sealed: str
    operation: int
    reference: str
    kind: str
    is_closed: bool

    def __str__(self) -> str:
        return f"Seal {self.number} of {self.reference}"


COLUMNS = ("number", "record", "digest", "previous", row_text(Seal, ("at", "by_id")), "operation")
RECORD, OPERATION = 1, 5
IS_CLOSED = ExpressionWrapper(Q(closed_at__isnull=False), output_field=BooleanField())


def check_seals() -> Finding:
    """The chain is unbroken, and every record still says what the tables say."""
    finding, _ = prove_seals()
    return finding


def prove_seals(
    *, since: Mark | None = None, watch: ProgressWatch = unwatched
) -> tuple[Finding, Mark]:
    """Prove all seals after a mark, and say how far they reach now."""
    since = since or Mark()
    wanted = Seal.objects.filter(number__gt=since.number)
    finding = Finding("every seal is unbroken", wanted.count())
    proof = _Proof(finding, since)
    for links in _chunks(watch(_links(since), finding.looked_at)):
        proof.go_on(links)
    closed = Operation.objects.filter(closed_at__isnull=False, seals=None)
    for reference in closed.values_list("reference", flat=True):
        finding.add(f"{reference} is closed but not sealed.")
    for sentence in proof.logged.unsealed():
        finding.add(sentence)
    return finding, Mark(proof.number, proof.digest, proof.logged.reached())


def _links(since: Mark) -> Iterator[SealLink]:
    rows = Seal.objects.filter(number__gt=since.number).order_by("number").values_list(*COLUMNS)
    for chunk in _chunks(rows.iterator(CHUNK)):
        heads = Operation.objects.filter(among("pk", {row[OPERATION] for row in chunk}))
        told = heads.values_list("pk", "reference", "kind", IS_CLOSED)
        found = {pk: head for pk, *head in told}
        for row in chunk:
            yield SealLink(*row, *(found.get(row[OPERATION]) or _head_in(row[RECORD])))


def _head_in(record: str) -> tuple[str, str, bool]:
    """What a record says of an operation that is no longer there."""
    section = json.loads(record).get("tables", {}).get("operation", {})
    rows = [dict(zip(section["columns"], row, strict=True)) for row in section.get("rows", ())]
    head = rows[0] if rows else {}
    return head.get("reference", "an operation that is gone"), head.get("kind", ""), False


def _chunks(things: Iterable[Any]) -> Iterator[list[Any]]:
    rows = iter(things)
    while chunk := list(islice(rows, CHUNK)):
        yield chunk


class _Proof:
    """Goes along the chain, a chunk of its links at a time."""

    def __init__(self, finding: Finding, since: Mark) -> None:
        self.finding = finding
        self.number, self.digest = since.number, since.digest
        self.logged = LogProof(since.logs)
        by_operation = Seal.objects.order_by().values("operation").annotate(last=Max("number"))
        self.newest = dict(by_operation.values_list("operation", "last"))

    def go_on(self, links: Sequence[SealLink]) -> None:
        sound = [link for link in links if self._holds(link)]
        self._compare(sound)
        for sentence in self.logged.compare([(link, link.record) for link in sound]):
            self.finding.add(sentence)

    def _holds(self, link: SealLink) -> bool:
        """Whether a seal follows the one before it and fits its own record."""
        if (link.number, link.previous) != (self.number + 1, self.digest):
            self.finding.add(f"{link} does not follow the seal before it.")
        self.number, self.digest = link.number, link.digest
        fits = link.digest == seals.digest(link.previous, link.record)
        if not fits:
            self.finding.add(f"{link} does not fit its own record.")
        return fits

    def _compare(self, links: Sequence[SealLink]) -> None:
        texts = _texts(links)
        for link in links:
            tables = tables_of(link.kind)
            ends = seals.ending(tables, texts, link.operation, sealed=link.sealed)
            if link.record.endswith(ends):
                continue
            newest = self.newest[link.operation] == link.number
            live = {table: texts[table.key].get(link.operation, []) for table in tables}
            for sentence in _changed(link, live, stands=newest and link.is_closed):
                self.finding.add(f"{link}: {sentence}")


def _texts(links: Sequence[SealLink]) -> dict[str, Texts]:
    """The rows of today of every operation among these, table by table."""
    operations: dict[Table, set[int]] = defaultdict(set)
    for link in links:
        for table in tables_of(link.kind):
            operations[table].add(link.operation)
    return {table.key: table.texts(wanted) for table, wanted in operations.items()}


def _changed(link: SealLink, live: Mapping[Table, list[str]], *, stands: bool) -> Iterator[str]:
    """What of a sealed record is no longer so.

    Of a record opened again since, only what is ever added to must still begin as it did.
    """
    record = json.loads(link.record)
    if record["sealed"] != json.loads(link.sealed):
        yield "who sealed it, or when, is no longer as sealed."
    for table, texts in live.items():
        sealed = record["tables"].get(table.key)
        if sealed is None or not (stands or table.grows):
            continue
        now = [json.loads(text) for text in texts]
        if not stands:
            now = now[: len(sealed["rows"])]
        yield from told(table, sealed, now)
