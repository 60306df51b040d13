"""Proof of the seals: the chain is unbroken, and the tables still say what each record says.

The book is read in chunks with a few questions each. Where the text of a record ends as the rows
of today do, nothing is taken apart; only what differs is read closely and named.
"""

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any, NamedTuple

from django.db import connection
from django.db.models import F

from workshop.core.database.row_text import row_text
from workshop.core.database.sealing import (
    FIRST_KEY,
    LAST_KEY,
    Question,
    Texts,
    holding_rows,
    question,
    stretches,
    tables_of,
)
from workshop.core.processes import Hands
from workshop.core.progress import ProgressWatch, unwatched
from workshop.ledger.models import Operation, Seal
from workshop.ledger.proof.differences import told
from workshop.ledger.proof.findings import Finding
from workshop.ledger.proof.logs import LogProof
from workshop.ledger.sealed_tables import TABLES
from workshop.ledger.services import seal_chain

CHUNK = 2000
# A chain that several processes prove is cut into at least so many pieces, none wider than this.
PIECES, WIDEST = 8, 20_000
LAST_NUMBER = 2**63 - 1
# What a record says of the operation itself is read along with its seal.
OPENING, CLOSING = (table for table in TABLES if table.operation == "pk")
COLUMNS: tuple[Any, ...] = (
    *("number", "record", "digest", "previous", row_text(Seal, ("at", "by_id")), "operation_id"),
    "operation__kind",
    *(
        row_text(Operation, table.columns, **{one: F(f"operation__{one}") for one in table.columns})
        for table in (OPENING, CLOSING)
    ),
)


@dataclass(frozen=True)
class Mark:
    """How far a proof came: the last seal that held, and the last row of each log it covers."""

    number: int = 0
    digest: str = seal_chain.FIRST
    logs: Mapping[str, int] = field(default_factory=dict)


class SealLink(NamedTuple):
    """One seal as its row has it, with the kind of operation that it is of."""

    number: int
    record: str
    digest: str
    previous: str
    sealed: str
    operation: int
    kind: str
    opening: str
    closing: str

    def __str__(self) -> str:
        head = self._head()
        return f"Seal {self.number} of {head.get('reference', 'an operation that is gone')}"

    def _head(self) -> Mapping[str, Any]:
        """The operation, or what the record says of one that is no longer there."""
        row = Operation.objects.filter(pk=self.operation).values("reference", "kind").first()
        if row:
            return row
        section = json.loads(self.record).get("tables", {}).get("operation", {})
        rows = [dict(zip(section["columns"], row, strict=True)) for row in section.get("rows", ())]
        return rows[0] if rows else {}

    def is_as_today(self) -> bool:
        """Whether its record is the last word: its operation is closed, and not sealed again."""
        later = Seal.objects.filter(operation=self.operation, number__gt=self.number)
        closed = Operation.objects.filter(pk=self.operation, closed_at__isnull=False)
        return closed.exists() and not later.exists()

    def named(self) -> "SealLink":
        """With the kind that its record says: the operation is gone."""
        return self._replace(kind=self._head().get("kind", ""), opening="", closing="")


def check_seals() -> Finding:
    """The chain is unbroken, and every record still says what the tables say."""
    finding, _ = prove_seals()
    return finding


def prove_seals(
    *, since: Mark | None = None, watch: ProgressWatch = unwatched, hands: Hands | None = None
) -> tuple[Finding, Mark]:
    """Prove all seals after a mark, and say how far they reach now."""
    since = since or Mark()
    finding = Finding(
        "every seal is unbroken", Seal.objects.filter(number__gt=since.number).count()
    )
    proof = _Proof(finding, since)
    if hands and hands.are_many:
        parts = [hands.begin(_prove_stretch, *ends) for ends in _stretches(since, finding)]
        for part in watch(parts, len(parts)):
            proof.join(part.result())
        watch = unwatched
    # All there is, or what was sealed while the others were at work.
    for links in watch(_links(proof.number), -(-finding.looked_at // CHUNK)):
        proof.go_on(links)
    closed = Operation.objects.filter(closed_at__isnull=False, seals=None)
    for reference in closed.values_list("reference", flat=True):
        finding.add(f"{reference} is closed but not sealed.")
    for sentence in proof.logged.unsealed():
        finding.add(sentence)
    return finding, Mark(proof.number, proof.digest, proof.logged.reached())


def _stretches(since: Mark, finding: Finding) -> list[tuple[Mark, int]]:
    """The chain in pieces: after which seal each begins, and with which it ends.

    Each piece takes its beginning for granted; the piece before proves it, which ends with it.
    """
    wide = min(WIDEST, max(CHUNK, finding.looked_at // PIECES))
    newest = Seal.objects.order_by("-number").values_list("number", "digest")
    last, found = newest.first() or (0, ""), []
    while since.number < last[0]:
        number, digest = newest.filter(number__lte=since.number + wide).first() or last
        if number <= since.number:  # some are gone, and nothing lies within
            number, digest = last
        found.append((since, number))
        since = Mark(number, digest)
    return found


def _prove_stretch(since: Mark, until: int) -> "_Proof":
    """A piece of the chain, in a process of its own."""
    proof = _Proof(Finding(""), since)
    for links in _links(since.number, until):
        proof.go_on(links)
    return proof


def _links(last: int, until: int = LAST_NUMBER) -> Iterator[list[SealLink]]:
    """The chain after one number, some thousands of seals at a time."""
    asked, first = _seals_between(connection.vendor), last + 1
    while first <= until:
        rows = asked.rows(first, min(first + CHUNK - 1, until))
        if rows:
            yield list(map(SealLink._make, rows))
        first = rows[-1][0] + 1 if rows else _first_from(first)


def _first_from(number: int) -> int:
    """The next seal where some are gone; beyond all numbers where there is none."""
    numbers = Seal.objects.filter(number__gte=number).order_by("number")
    return numbers.values_list("number", flat=True).first() or LAST_NUMBER + 1


@cache
def _seals_between(vendor: str) -> Question:
    """The seals from one number to another. Each kind of database has its own words for it."""
    within = Seal.objects.filter(number__gte=FIRST_KEY, number__lte=LAST_KEY)
    asked = question(within.order_by("number").values_list(*COLUMNS))
    # The framework takes it that there is an operation; where it is gone, its seal is still read.
    return asked._replace(sql=asked.sql.replace(" INNER JOIN ", " LEFT JOIN "))


class _Proof:
    """Goes along the chain, a chunk of its links at a time."""

    def __init__(self, finding: Finding, since: Mark) -> None:
        self.finding = finding
        self.number, self.digest = since.number, since.digest
        self.logged = LogProof(since.logs)

    def go_on(self, links: Sequence[SealLink]) -> None:
        sound = list(self._sound(links))
        self._compare(sound)
        for sentence in self.logged.compare(sound):
            self.finding.add(sentence)

    def join(self, part: "_Proof") -> None:
        """Take over what another found that went on from here."""
        for sentence in part.finding.problems:
            self.finding.add(sentence)
        self.finding.more += part.finding.more
        self.number, self.digest = part.number, part.digest
        self.logged.join(part.logged)

    def _sound(self, links: Iterable[SealLink]) -> Iterator[SealLink]:
        """Those that fit their own records; each has to follow the one before it."""
        for link in links:
            number, record, digest, previous, *_ = link
            if previous != self.digest or number != self.number + 1:
                self.finding.add(f"{link} does not follow the seal before it.")
            self.number, self.digest = number, digest
            if digest == seal_chain.digest(previous, record):
                yield link if link.kind else link.named()
            else:
                self.finding.add(f"{link} does not fit its own record.")

    def _compare(self, links: Sequence[SealLink]) -> None:
        """Hold each record against the rows of today."""
        by_kind: dict[str, list[SealLink]] = defaultdict(list)
        for link in links:
            by_kind[link.kind].append(link)
        texts = _texts(links, by_kind)
        differ: list[SealLink] = []
        for kind, of_kind in by_kind.items():
            sealed = [(link.operation, link.sealed) for link in of_kind]
            ends = seal_chain.endings(kind, texts, sealed)
            differ += [
                link
                for link, end in zip(of_kind, ends, strict=True)
                if not link.record.endswith(end)
            ]
        for link in sorted(differ):
            for sentence in _changed(link, texts):
                self.finding.add(f"{link}: {sentence}")


def _texts(links: Sequence[SealLink], kinds: Iterable[str]) -> dict[str, Texts]:
    """The rows of today of every operation among these, table by table."""
    ends = list(stretches({link.operation for link in links}))
    tables = {table for kind in kinds for table in tables_of(kind)}
    own: dict[str, Texts] = {
        OPENING.key: {link.operation: link.opening for link in links},
        CLOSING.key: {link.operation: link.closing for link in links},
    }
    others = tables - {OPENING, CLOSING}
    filled = holding_rows({table.model for table in others})
    return own | {
        table.key: table.texts(*ends) if table.model in filled else {} for table in others
    }


def _changed(link: SealLink, texts: Mapping[str, Texts]) -> Iterator[str]:
    """What of a sealed record is no longer so.

    Of a record opened again since, only what is ever added to must still begin as it did.
    """
    record = json.loads(link.record)
    if record["sealed"] != json.loads(link.sealed):
        yield "who sealed it, or when, is no longer as sealed."
    stands = link.is_as_today()
    for table in tables_of(link.kind):
        sealed = record["tables"].get(table.key)
        if sealed is None or not (stands or table.grows):
            continue
        now = sorted(json.loads(f"[{texts[table.key].get(link.operation, '')}]"))
        yield from told(table, sealed, now if stands else now[: len(sealed["rows"])])
