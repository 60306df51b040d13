"""Item, Lot, Operation, Posting: every physical thing, everything that happens, every gram."""

from workshop.ledger.models.changes import (
    Amendment,
    Correction,
    Counter,
    Covered,
    DateChange,
    Seal,
    StatusChange,
)
from workshop.ledger.models.counts import LotCount
from workshop.ledger.models.enums import (
    BRINGING_IN,
    REFERENCE_LETTER,
    TRANSFORMING,
    ItemKind,
    OperationKind,
    ShedKind,
    Side,
    Status,
    Unit,
)
from workshop.ledger.models.ledger import (
    Item,
    ItemQuerySet,
    Lot,
    LotQuerySet,
    Operation,
    Posting,
    PostingQuerySet,
)
from workshop.ledger.models.losses import Shed, ShedQuerySet
from workshop.ledger.models.places import Place, PlaceKind, Placing, PlacingQuerySet

__all__ = [
    "BRINGING_IN",
    "REFERENCE_LETTER",
    "TRANSFORMING",
    "Amendment",
    "Correction",
    "Counter",
    "Covered",
    "DateChange",
    "Item",
    "ItemKind",
    "ItemQuerySet",
    "Lot",
    "LotCount",
    "LotQuerySet",
    "Operation",
    "OperationKind",
    "Place",
    "PlaceKind",
    "Placing",
    "PlacingQuerySet",
    "Posting",
    "PostingQuerySet",
    "Seal",
    "Shed",
    "ShedKind",
    "ShedQuerySet",
    "Side",
    "Status",
    "StatusChange",
    "Unit",
]
