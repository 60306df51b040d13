"""Whether anything changed that a weigh-up shows, in one plain query: open pages ask every 2 s."""

from datetime import datetime
from hashlib import sha256

from django.db import connection
from django.http import Http404

# Each part is found by an index. A posting or a status anywhere may move what a lot has left.
MARK = """
SELECT b.id, b.state, o.closed_at,
       (SELECT MAX(id) FROM ledger_posting),
       (SELECT MAX(id) FROM ledger_statuschange),
       (SELECT MAX(id) FROM kettle_batchline WHERE batch_id = b.id),
       (SELECT MAX(id) FROM kettle_targetchange),
       (SELECT MAX(id) FROM kettle_timer WHERE batch_id = b.id),
       (SELECT MAX(ended_at) FROM kettle_timer WHERE batch_id = b.id)
FROM kettle_batch b JOIN ledger_operation o ON o.id = b.operation_id WHERE o.reference = %s
"""
GOOD_FOR_S = 60


def mark_of(reference: str, *, now: datetime) -> str:
    """A mark, as an entity tag, that is another one once the batch's weigh-up may look different.

    What no row above tells (a caution rewritten, another day, on PostgreSQL an act elsewhere that
    was written down late) is seen within a minute, for no mark is good for longer.
    """
    with connection.cursor() as cursor:
        cursor.execute(MARK, [reference])
        row = cursor.fetchone()
    if row is None:
        raise Http404("No such batch.")
    minute = int(now.timestamp()) // GOOD_FOR_S
    return f'"{sha256(repr([row, minute]).encode()).hexdigest()[:24]}"'
