"""Which rows of the logs no seal covers yet: the next seal takes them in."""

from collections.abc import Iterable
from typing import Any

from django.db import connection
from django.db.models import Q

from workshop.core.database.sealing import Log, logs
from workshop.ledger.models import Covered

# Numbers this far below the last may still be written by a transaction that began before.
STILL_COMING = 200


def newly_written() -> dict[Log, Iterable[str]]:
    """The rows that no seal covers, by log, and note that one does now."""
    covered, newest = {one.table: one for one in Covered.objects.all()}, _newest()
    found: dict[Log, Iterable[str]] = {}
    for log in logs():
        so_far = covered.get(log.key) or Covered(table=log.key)
        if newest[log.key] > so_far.last or so_far.pending:
            texts = _take_in(log, so_far, newest[log.key])
            if texts:
                found[log] = texts.values()
    return found


def _newest() -> dict[str, int]:
    """The last number given out in each log, all in one question."""
    quote = connection.ops.quote_name
    asked = (
        f"(SELECT MAX({quote(log.model._meta.pk.column)}) FROM {quote(log.key)})"  # noqa: S608 -- our own tables
        for log in logs()
    )
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {', '.join(asked)}")
        return {log.key: last or 0 for log, last in zip(logs(), cursor.fetchone(), strict=True)}


def _take_in(log: Log, so_far: Covered, newest: int) -> dict[int, str]:
    texts = log.texts_of(so_far.pending) | log.texts(so_far.last + 1, newest)
    pending = _pending(log, texts, so_far, newest)
    if (pending, newest) != (so_far.pending, so_far.last):
        so_far.pending, so_far.last = pending, max(newest, so_far.last)
        so_far.save()
    return texts


def _pending(log: Log, texts: dict[int, str], so_far: Covered, newest: int) -> list[int]:
    recent = newest - STILL_COMING
    waiting: set[Any] = {number for number in so_far.pending if number > recent}
    waiting.update(range(max(so_far.last + 1, recent), newest + 1))
    if log.final is not None:
        which = Q(pk__gt=so_far.last, pk__lte=newest) | Q(pk__in=so_far.pending)
        waiting.update(log.model._base_manager.filter(which).values_list("pk", flat=True))
    return sorted(waiting - texts.keys())
