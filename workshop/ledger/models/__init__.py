"""Item, Lot, Operation, Posting: every physical thing, everything that happens, every gram."""

from workshop.ledger.models.beside import (
    Amendment,
    Correction,
    Counter,
    Covered,
    DateChange,
    Seal,
    StatusChange,
)
from workshop.ledger.models.book import (
    Item,
    ItemQuerySet,
    Lot,
    LotQuerySet,
    Operation,
    Posting,
    PostingQuerySet,
)
from workshop.ledger.models.words import (
    REFERENCE_LETTER,
    TRANSFORMING,
    Act,
    Kind,
    Side,
    Status,
    Unit,
)

__all__ = [
    "REFERENCE_LETTER",
    "TRANSFORMING",
    "Act",
    "Amendment",
    "Correction",
    "Counter",
    "Covered",
    "DateChange",
    "Item",
    "ItemQuerySet",
    "Kind",
    "Lot",
    "LotQuerySet",
    "Operation",
    "Posting",
    "PostingQuerySet",
    "Seal",
    "Side",
    "Status",
    "StatusChange",
    "Unit",
]
