"""What a seal covers of the ledger itself."""

from django.db.models import Case, F, OuterRef, Subquery, When
from django.db.models.lookups import IsNull

from workshop.core.database.sealing import Log, Table
from workshop.core.models import Upload
from workshop.ledger.models import (
    Amendment,
    Correction,
    DateChange,
    Lot,
    LotCount,
    Operation,
    OperationKind,
    Placing,
    Posting,
    Shed,
    StatusChange,
)

_first_change = DateChange.objects.filter(lot=OuterRef("pk")).order_by("pk")
# The date that a lot was made with, whatever it was given since.
_first_date = Case(
    When(IsNull(Subquery(_first_change.values("pk")[:1]), True), then=F("best_before")),  # noqa: FBT003
    default=Subquery(_first_change.values("was")[:1]),
)

TABLES = (
    Table(
        Operation,
        "pk",
        name="operation",
        only=("id", "kind", "reference", "token", "opened_at", "opened_by_id"),
        grows=True,
    ),
    Table(Operation, "pk", name="closing", only=("id", "closed_at", "closed_by_id")),
    Table(Lot, "origin", but_not=("status",), instead={"best_before": _first_date}, grows=True),
    Table(Posting, "operation", grows=True),
    Table(Amendment, "operation", grows=True),
    Table(Correction, "amendment__operation", grows=True),
)
# Only these shed: a guard keeps the others from it.
SHEDDING = (OperationKind.BATCH, OperationKind.PACKING, OperationKind.SHED)
RECORDS = dict.fromkeys(OperationKind.values, TABLES) | dict.fromkeys(
    map(str, SHEDDING), (*TABLES, Table(Shed, "operation", grows=True))
)
RECORDS[OperationKind.COUNT] = (*TABLES, Table(LotCount, "operation", grows=True))
LOGS = (Log(StatusChange), Log(DateChange), Log(Upload), Log(Placing))
