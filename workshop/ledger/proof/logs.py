"""Proof of the logs: what the seals say was written into them is there, and nothing besides."""

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import islice
from typing import Any, NamedTuple

from workshop.core.database.sealing import Log, logs, logs_by_key
from workshop.ledger.models import Covered
from workshop.ledger.proof.differences import called, difference
from workshop.ledger.proof.findings import SHOWN
from workshop.ledger.services.seals import log_text

LOG, NOTHING = ',"log":', ',"log":{},'
_decode = json.JSONDecoder().raw_decode


class LogPart(NamedTuple):
    """What one seal says of one log."""

    log: Log
    columns: Sequence[str]
    rows: Sequence[Sequence[Any]]


class LogExcerpt(NamedTuple):
    """What one seal says of the logs: its words, and what they say of each log that there is."""

    seal: object
    text: str
    parts: list[LogPart]


def _said(seal: object, record: str) -> LogExcerpt:
    begins = record.index(LOG) + len(LOG)
    told, ends = _decode(record, begins)
    known = logs_by_key()
    parts = [LogPart(known[key], **part) for key, part in told.items() if key in known]
    return LogExcerpt(seal, record[begins:ends], parts)


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
        texts = self._texts(said)
        for one in said:
            now = {log: [texts[log].get(row[0], "") for row in rows] for log, _, rows in one.parts}
            if one.text != log_text(now):
                yield from _differences(one, texts)

    def _texts(self, said: Iterable[LogExcerpt]) -> dict[Log, dict[int, str]]:
        numbers: dict[Log, list[int]] = defaultdict(list)
        for one in said:
            for log, _, rows in one.parts:
                numbers[log] += [row[0] for row in rows]
        for log, covered in numbers.items():
            self.covered[log.key].update(covered)
        # Between the first and the last: asking for each by its number takes longer.
        return {log: log.texts(min(some), max(some)) for log, some in numbers.items() if some}

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


def _differences(one: LogExcerpt, texts: Mapping[Log, Mapping[int, str]]) -> Iterator[str]:
    for log, columns, rows in one.parts:
        for row in rows:
            before = dict(zip(columns, row, strict=True))
            text = texts[log].get(row[0])
            today = dict(zip(log.columns, json.loads(text), strict=True)) if text else None
            sentence = difference(before, today)
            if sentence:
                yield f"{one.seal}: {called(log.model, before)} {sentence}"
