"""Proof of the logs: what the seals say was written into them is there, and nothing besides."""

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from workshop.core.database.sealing import Log, logs
from workshop.ledger.models import Covered
from workshop.ledger.proof.differences import called, difference
from workshop.ledger.proof.findings import SHOWN
from workshop.ledger.services.seals import log_text

LOG, NOTHING = ',"log":', ',"log":{},'
_decode = json.JSONDecoder().raw_decode


class LogExcerpt(NamedTuple):
    """What one seal says of the logs: by table its columns and rows; where in its record."""

    seal: object
    record: str
    begins: int
    ends: int
    parts: Mapping[str, Any]


def _said(seal: object, record: str) -> LogExcerpt:
    begins = record.index(LOG) + len(LOG)
    parts, ends = _decode(record, begins)
    return LogExcerpt(seal, record, begins, ends, parts)


class LogProof:
    """Goes along with the chain of seals and keeps which rows of the logs they cover."""

    def __init__(self, since: Mapping[str, int]) -> None:
        self.since = since
        self.covered: dict[str, set[int]] = defaultdict(set)

    def reached(self) -> dict[str, int]:
        """The last row of each log that the seals cover so far."""
        last = {key: max(rows) for key, rows in self.covered.items() if rows}
        return {**self.since, **last}

    def compare(self, records: Iterable[tuple[object, str]]) -> Iterator[str]:
        """Hold what some seals say of the logs against the logs of today."""
        said = [_said(seal, record) for seal, record in records if NOTHING not in record]
        texts = {log: self._texts(log, said) for log in logs()}
        for one in said:
            now = {
                log: [texts[log].get(row[0], "") for row in one.parts[log.key]["rows"]]
                for log in logs()
                if log.key in one.parts
            }
            if one.record[one.begins : one.ends] != log_text(now):
                yield from _differences(one, texts)

    def _texts(self, log: Log, said: Iterable[LogExcerpt]) -> dict[int, str]:
        numbers = [
            row[0] for one in said if log.key in one.parts for row in one.parts[log.key]["rows"]
        ]
        if not numbers:
            return {}
        self.covered[log.key].update(numbers)
        # Between the first and the last: asking for each by its number takes longer.
        return log.texts(min(numbers), max(numbers))

    def unsealed(self) -> Iterator[str]:
        """Rows that came into a log without any seal taking them in, though one should have."""
        so_far = {one.table: one for one in Covered.objects.all()}
        reached = self.reached()
        for log in logs():
            known = so_far.get(log.key) or Covered(table=log.key)
            if reached.get(log.key, 0) > known.last:
                yield f"How far {log.key} is sealed is no longer as the seals say."
            for row in self._strays(log, known):
                yield f"{called(log.model, row)} is covered by no seal."

    def _strays(self, log: Log, known: Covered) -> Iterable[Mapping[str, Any]]:
        rows = log.rows.filter(pk__gt=self.since.get(log.key, 0), pk__lte=known.last)
        there = set(rows.values_list("pk", flat=True).iterator())
        strays = sorted(there - self.covered[log.key] - set(known.pending))
        return log.rows.filter(pk__in=strays[:SHOWN]).values()


def _differences(one: LogExcerpt, texts: Mapping[Log, Mapping[int, str]]) -> Iterator[str]:
    for log, part in ((log, one.parts[log.key]) for log in logs() if log.key in one.parts):
        for row in part["rows"]:
            before = dict(zip(part["columns"], row, strict=True))
            text = texts[log].get(row[0])
            today = dict(zip(log.columns, json.loads(text), strict=True)) if text else None
            sentence = difference(before, today)
            if sentence:
                yield f"{one.seal}: {called(log.model, before)} {sentence}"
