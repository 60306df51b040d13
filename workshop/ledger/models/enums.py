"""The kinds of things, acts and statuses that the ledger tells apart.

A further kind of operation is named in more places: guards, sealed tables, lot rules, exports,
balances. `docs/adding.md` lists them.
"""

from django.db import models


class ItemKind(models.TextChoices):
    MATERIAL = "material", "material"
    PACKAGING = "packaging", "packaging"
    BULK = "bulk", "bulk"
    PRODUCT = "product", "product"


class Unit(models.TextChoices):
    GRAM = "g", "grams"
    EACH = "each", "pieces"


class Status(models.TextChoices):
    QUARANTINE = "quarantine", "quarantine"
    RELEASED = "released", "released"
    ON_HOLD = "on_hold", "on hold"
    REJECTED = "rejected", "rejected"


class OperationKind(models.TextChoices):
    """What kind of thing happened."""

    RECEIPT = "receipt", "receipt"
    BATCH = "batch", "batch"
    PACKING = "packing", "packing run"
    UNPACKING = "unpacking", "unpacking"
    DISPATCH = "dispatch", "dispatch"
    RETURN = "return", "return"
    COUNT = "count", "stock count"
    DISCARD = "discard", "discard"
    SHED = "shed", "loss in store"
    OPENING = "opening", "stock before the book"


# Acts that bring lots in of which nothing earlier is in the book: there every way back ends.
BRINGING_IN = (OperationKind.RECEIPT, OperationKind.OPENING)
# Acts that make new lots out of others: the links of the family tree.
TRANSFORMING = (OperationKind.BATCH, OperationKind.PACKING, OperationKind.UNPACKING)

REFERENCE_LETTER = {
    OperationKind.RECEIPT: "R",
    OperationKind.BATCH: "K",
    OperationKind.PACKING: "P",
    OperationKind.UNPACKING: "U",
    OperationKind.DISPATCH: "D",
    OperationKind.RETURN: "B",
    OperationKind.COUNT: "C",
    OperationKind.DISCARD: "X",
    OperationKind.SHED: "S",
    OperationKind.OPENING: "E",
}


class ShedKind(models.TextChoices):
    """How mass leaves an operation without becoming a lot."""

    STRAINED = "strained", "strained out"
    SKIMMED = "skimmed", "skimmed off"
    EVAPORATED = "evaporated", "evaporated"
    DRIED = "dried", "dried off"
    TRIMMED = "trimmed", "trimmed off"
    SAMPLED = "sampled", "taken as a sample"
    FILM = "film", "left on the kettle"
    SPILLED = "spilled", "spilled"


class Side(models.TextChoices):
    IN = "in", "into the operation"
    OUT = "out", "out of the operation"
