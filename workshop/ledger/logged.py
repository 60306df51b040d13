"""Proof of the logs: what the seals say was written into them is there, and nothing besides."""

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from django.db.models import Q

from workshop.core.records import Log, logs
from workshop.ledger.differing import called, difference
from workshop.ledger.findings import SHOWN
from workshop.ledger.models import Covered

Logged = Mapping[str, Any]


class LogProof:
    """Goes along with the chain of seals and keeps which rows of the logs they cover."""

    def __init__(self, since: Mapping[str, int]) -> None:
        self.since = since
        self.covered: dict[str, set[int]] = defaultdict(set)

    def reached(self) -> dict[str, int]:
        """The last row of each log that the seals cover so far."""
        last = {key: max(rows) for key, rows in self.covered.items() if rows}
        return {**self.since, **last}

    def compare(self, logged: Sequence[tuple[str, Logged]]) -> Iterator[str]:
        """Hold what some seals say of the logs against the logs of today."""
        for log in logs():
            said = [(seal, one[log.key]) for seal, one in logged if log.key in one]
            if said:
                yield from self._compare(log, said)

    def _compare(self, log: Log, said: Iterable[tuple[str, Logged]]) -> Iterator[str]:
        sealed = {row[0]: (seal, part, row) for seal, part in said for row in part["rows"]}
        self.covered[log.key].update(sealed)
        # Between the first and the last: asking for each by its number takes longer.
        texts = log.texts(Q(pk__range=(min(sealed), max(sealed))))
        columns = list(log.columns)
        for key, (seal, part, row) in sealed.items():
            today = json.loads(texts[key]) if key in texts else None
            if row == today and part["columns"] == columns:
                continue
            before = dict(zip(part["columns"], row, strict=True))
            now = None if today is None else dict(zip(columns, today, strict=True))
            sentence = difference(before, now)
            if sentence:
                yield f"{seal}: {called(log.model, before)} {sentence}"

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
