"""The kinds of things, acts and statuses that the ledger tells apart."""

from django.db import models


class Kind(models.TextChoices):
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


class Act(models.TextChoices):
    """What kind of thing happened."""

    RECEIPT = "receipt", "receipt"
    BATCH = "batch", "batch"
    PACKING = "packing", "packing run"
    DISPATCH = "dispatch", "dispatch"
    RETURN = "return", "return"
    COUNT = "count", "stock count"
    DISCARD = "discard", "discard"


# Acts that make new lots out of others: the links of the family tree.
TRANSFORMING = (Act.BATCH, Act.PACKING)

REFERENCE_LETTER = {
    Act.RECEIPT: "R",
    Act.BATCH: "K",
    Act.PACKING: "P",
    Act.DISPATCH: "D",
    Act.RETURN: "B",
    Act.COUNT: "C",
    Act.DISCARD: "X",
}


class Side(models.TextChoices):
    IN = "in", "into the operation"
    OUT = "out", "out of the operation"
