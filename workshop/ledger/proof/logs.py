"""Proof of the logs: what the seals say was written into them is there, and nothing besides."""

import json
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from itertools import islice, repeat
from typing import Any, NamedTuple, Protocol

from workshop.core.database.sealing import Log, logs, logs_by_key
from workshop.ledger.models import Covered
from workshop.ledger.proof.differences import called, difference
from workshop.ledger.proof.findings import SHOWN
from workshop.ledger.services.seal_chain import log_text

LOG, ENDS = ',"log":', ',"sealed":'
NOTHING, MOSTLY = ',"log":{},', '{"details":{},"log":{},'
SECTION = re.compile(r'"(\w+)":\{"columns":\[[^]]*\],"rows":\[')
KEY = re.compile(r"\[(\d+)[,\]]")
WIDE = 10_000
_decode = json.JSONDecoder().raw_decode


class SealedRecord(Protocol):
    """A seal that says in words which it is, and what it covers."""

    @property
    def record(self) -> str: ...


class LogExcerpt(NamedTuple):
    """What one seal says of the logs: its words, and of which rows of each log they are."""

    seal: SealedRecord
    text: str
    rows: Mapping[Log, list[int]]


def _at_a_glance(seal: SealedRecord) -> LogExcerpt:
    """Where the rows begin that the words seem to be of. Nothing is taken apart.

    What looks like the beginning of a row may stand within another: then the rows of today do not
    give these words, and they are read closely.
    """
    record = seal.record
    begins = record.index(LOG) + len(LOG)
    text = record[begins : record.index(ENDS, begins)]
    _, *sections = SECTION.split(text)
    known, rows = logs_by_key(), {}
    for key, part in zip(sections[::2], sections[1::2], strict=True):
        numbers = list(map(int, KEY.findall(part)))
        if key in known and numbers and max(numbers) - min(numbers) < WIDE:
            rows[known[key]] = numbers
    return LogExcerpt(seal, text, rows)


class LogProof:
    """Goes along with the chain of seals and keeps which rows of the logs they cover."""

    def __init__(self, since: Mapping[str, int]) -> None:
        self.since = since
        self.covered: dict[str, set[int]] = defaultdict(set)  # by the key of the log

    def join(self, part: "LogProof") -> None:
        self._cover(part.covered)

    def reached(self) -> dict[str, int]:
        """The last row of each log that the seals cover so far."""
        last = {key: max(rows) for key, rows in self.covered.items() if rows}
        return {**self.since, **last}

    def compare(self, seals: Iterable[SealedRecord]) -> Iterator[str]:
        """Hold what some seals say of the logs against the logs of today."""
        said = [
            _at_a_glance(seal)
            for seal in seals
            if not (seal.record.startswith(MOSTLY) or NOTHING in seal.record)
        ]
        texts = _texts(said)
        for seal, text, covers in said:
            now = {log: map(texts[log].get, numbers, repeat("")) for log, numbers in covers.items()}
            if text == log_text(now):
                for log, numbers in covers.items():
                    self.covered[log.key].update(numbers)
            else:
                yield from self._differences(seal)

    def _cover(self, rows: Mapping[str, Iterable[int]]) -> None:
        for key, numbers in rows.items():
            self.covered[key].update(numbers)

    def _differences(self, seal: SealedRecord) -> Iterator[str]:
        """Read what a seal says closely, and name what is no longer so."""
        told, _ = _decode(seal.record, seal.record.index(LOG) + len(LOG))
        known = logs_by_key()
        for key, part in told.items():
            if key in known:
                log, numbers = known[key], [row[0] for row in part["rows"]]
                self._cover({key: numbers})
                for sentence in _differing(log, part, log.texts_of(numbers)):
                    yield f"{seal}: {sentence}"

    def unsealed(self) -> Iterator[str]:
        """Rows that came into a log without any seal taking them in, though one should have."""
        so_far = {one.table: one for one in Covered.objects.all()}
        reached = self.reached()
        for log in logs():
            known = so_far.get(log.key) or Covered(table=log.key)
            if reached.get(log.key, 0) > known.last:
                yield f"How far {log.key} is sealed is no longer as the seals say."
            for row in self._strays(log, known) if known.last else ():
                yield f"{called(log.model, row)} is covered by no seal."

    def _strays(self, log: Log, known: Covered) -> Iterable[Mapping[str, Any]]:
        rows = log.rows.filter(pk__gt=self.since.get(log.key, 0), pk__lte=known.last)
        sealed, pending = self.covered[log.key], set(known.pending)
        there = rows.values_list("pk", flat=True).iterator()
        strays = (pk for pk in there if pk not in sealed and pk not in pending)
        return log.rows.filter(pk__in=list(islice(strays, SHOWN))).values()


def _texts(said: Iterable[LogExcerpt]) -> dict[Log, dict[int, str]]:
    numbers: dict[Log, list[int]] = defaultdict(list)
    for one in said:
        for log, rows in one.rows.items():
            numbers[log] += rows
    # Between the first and the last: asking for each by its number takes longer.
    return {log: log.texts(min(some), max(some)) for log, some in numbers.items()}


def _differing(log: Log, part: Mapping[str, Any], texts: Mapping[int, str]) -> Iterator[str]:
    for row in part["rows"]:
        before = dict(zip(part["columns"], row, strict=True))
        text = texts.get(row[0])
        today = dict(zip(log.columns, json.loads(text), strict=True)) if text else None
        sentence = difference(before, today)
        if sentence:
            yield f"{called(log.model, before)} {sentence}"
