"""Proof of the seals: the chain is unbroken, and the tables still say what each record says.

The book is read in chunks with a few questions each. Where the text of a record ends as the rows
of today do, nothing is taken apart; only what differs is read closely and named.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import NamedTuple

from django.db import connection
from django.db.models import BooleanField, ExpressionWrapper, Q

from workshop.core.database.row_text import row_text
from workshop.core.database.sealing import (
    FIRST_KEY,
    LAST_KEY,
    Question,
    Texts,
    question,
    stretches,
    tables_of,
)
from workshop.core.progress import ProgressWatch, unwatched
from workshop.ledger.models import Operation, Seal
from workshop.ledger.proof.differences import told
from workshop.ledger.proof.findings import Finding
from workshop.ledger.proof.logs import LogProof
from workshop.ledger.services import seals

CHUNK = 2000
IS_CLOSED = ExpressionWrapper(Q(operation__closed_at__isnull=False), output_field=BooleanField())
COLUMNS = (
    *("number", "record", "digest", "previous", row_text(Seal, ("at", "by_id")), "operation_id"),
    *("operation__reference", "operation__kind", IS_CLOSED),
)


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


def check_seals() -> Finding:
    """The chain is unbroken, and every record still says what the tables say."""
    finding, _ = prove_seals()
    return finding


def prove_seals(
    *, since: Mark | None = None, watch: ProgressWatch = unwatched
) -> tuple[Finding, Mark]:
    """Prove all seals after a mark, and say how far they reach now."""
    since = since or Mark()
    finding = Finding(
        "every seal is unbroken", Seal.objects.filter(number__gt=since.number).count()
    )
    proof = _Proof(finding, since)
    for links in watch(_links(since), -(-finding.looked_at // CHUNK)):
        proof.go_on(links)
    closed = Operation.objects.filter(closed_at__isnull=False, seals=None)
    for reference in closed.values_list("reference", flat=True):
        finding.add(f"{reference} is closed but not sealed.")
    for sentence in proof.logged.unsealed():
        finding.add(sentence)
    return finding, Mark(proof.number, proof.digest, proof.logged.reached())


def _links(since: Mark) -> Iterator[list[SealLink]]:
    """The chain, some thousands of seals at a time."""
    asked, last = _seals_between(connection.vendor), since.number
    while (first := _number_after(last)) is not None:
        rows = asked.rows(first, first + CHUNK - 1)
        links = map(SealLink._make, rows)
        yield [link if link.kind else _without_operation(link) for link in links]
        last = rows[-1][0]


def _number_after(last: int) -> int | None:
    numbers = Seal.objects.filter(number__gt=last).order_by("number")
    return numbers.values_list("number", flat=True).first()


@cache
def _seals_between(vendor: str) -> Question:
    """The seals from one number to another. Each kind of database has its own words for it."""
    within = Seal.objects.filter(number__gte=FIRST_KEY, number__lte=LAST_KEY)
    asked = question(within.order_by("number").values_list(*COLUMNS))
    # The framework takes it that there is an operation; where it is gone, its seal is still read.
    return asked._replace(sql=asked.sql.replace(" INNER JOIN ", " LEFT JOIN "))


def _without_operation(link: SealLink) -> SealLink:
    """A seal whose operation is no longer there, with what its record says of that."""
    section = json.loads(link.record).get("tables", {}).get("operation", {})
    rows = [dict(zip(section["columns"], row, strict=True)) for row in section.get("rows", ())]
    head = rows[0] if rows else {}
    reference = head.get("reference", "an operation that is gone")
    return link._replace(reference=reference, kind=head.get("kind", ""))


class _Proof:
    """Goes along the chain, a chunk of its links at a time."""

    def __init__(self, finding: Finding, since: Mark) -> None:
        self.finding = finding
        self.number, self.digest = since.number, since.digest
        self.logged = LogProof(since.logs)

    def go_on(self, links: Sequence[SealLink]) -> None:
        sound = [link for link in links if self._holds(link)]
        self._compare(sound)
        for sentence in self.logged.compare([(link, link.record) for link in sound]):
            self.finding.add(sentence)

    def _holds(self, link: SealLink) -> bool:
        """Whether a seal follows the one before it and fits its own record."""
        if link.previous != self.digest or link.number != self.number + 1:
            self.finding.add(f"{link} does not follow the seal before it.")
        self.number, self.digest = link.number, link.digest
        fits = link.digest == seals.digest(link.previous, link.record)
        if not fits:
            self.finding.add(f"{link} does not fit its own record.")
        return fits

    def _compare(self, links: Sequence[SealLink]) -> None:
        """Hold each record against the rows of today."""
        texts = _texts(links)
        for kind in sorted({link.kind for link in links}):
            of_kind = [link for link in links if link.kind == kind]
            sealed = [(link.operation, link.sealed) for link in of_kind]
            for link, ends in zip(of_kind, seals.endings(kind, texts, sealed), strict=True):
                if not link.record.endswith(ends):
                    for sentence in _changed(link, texts):
                        self.finding.add(f"{link}: {sentence}")


def _texts(links: Sequence[SealLink]) -> dict[str, Texts]:
    """The rows of today of every operation among these, table by table."""
    ends = list(stretches({link.operation for link in links}))
    tables = {table for kind in {link.kind for link in links} for table in tables_of(kind)}
    return {table.key: table.texts(*ends) for table in tables}


def _changed(link: SealLink, texts: Mapping[str, Texts]) -> Iterator[str]:
    """What of a sealed record is no longer so.

    Of a record opened again since, only what is ever added to must still begin as it did.
    """
    record = json.loads(link.record)
    if record["sealed"] != json.loads(link.sealed):
        yield "who sealed it, or when, is no longer as sealed."
    later = Seal.objects.filter(operation=link.operation, number__gt=link.number)
    stands = link.is_closed and not later.exists()
    for table in tables_of(link.kind):
        sealed = record["tables"].get(table.key)
        if sealed is None or not (stands or table.grows):
            continue
        now = sorted(json.loads(f"[{texts[table.key].get(link.operation, '')}]"))
        yield from told(table, sealed, now if stands else now[: len(sealed["rows"])])
