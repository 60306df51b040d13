"""Rounds are logs: what is counted is sealed with whatever is closed next."""

from workshop.core.database.sealing import Log, Table
from workshop.counts.models import (
    Classing,
    Count,
    CountLine,
    CountRound,
    ItemClass,
    PostedCount,
    RoundEnd,
)

RECORDS: dict[str, tuple[Table, ...]] = {}
LOGS = (
    Log(Classing),
    Log(ItemClass),
    Log(CountRound),
    Log(CountLine),
    Log(Count),
    Log(RoundEnd),
    Log(PostedCount),
)
