"""What a certificate of analysis or a data sheet says of a bought lot or item."""

from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from workshop.core.fields import FixedPointField, PercentField
from workshop.ledger.models import Item, Lot


class AllergenContent(models.Model):
    """How much of one allergen is in an item as a rule, or in one lot by its certificate."""

    item = models.ForeignKey(
        Item, on_delete=models.PROTECT, related_name="allergens", null=True, blank=True
    )
    lot = models.ForeignKey(
        Lot, on_delete=models.PROTECT, related_name="allergens", null=True, blank=True
    )
    name = models.CharField(max_length=120, help_text="A name or CAS number.")
    share = PercentField()
    source = models.CharField(max_length=200, blank=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["-share", "name"]
        constraints = [
            models.CheckConstraint(
                name="allergen_is_of_an_item_or_a_lot",
                condition=Q(item=None, lot__isnull=False) | Q(item__isnull=False, lot=None),
            ),
            models.CheckConstraint(
                name="allergen_share_is_possible", condition=Q(share__gte=0, share__lte=100)
            ),
            models.UniqueConstraint(name="allergen_once_an_item", fields=["item", "name"]),
            models.UniqueConstraint(name="allergen_once_a_lot", fields=["lot", "name"]),
        ]

    def __str__(self) -> str:
        return f"{self.name} {self.share} %"


class SoapValue(models.Model):
    """How much lye a fat binds, and between what values by its data sheet; 0 binds none."""

    item = models.OneToOneField(Item, on_delete=models.PROTECT, related_name="soap_value")
    value = FixedPointField("saponification value, mg KOH/g", places=1)
    least = FixedPointField("lowest by its data sheet", places=1, null=True, blank=True)
    most = FixedPointField("highest by its data sheet", places=1, null=True, blank=True)

    history = HistoricalRecords()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="soap_value_is_possible",
                condition=Q(value=0) | Q(value__gte=50, value__lte=400),
                violation_error_message="A saponification value is 0, or lies between 50 and 400.",
            ),
            models.CheckConstraint(
                name="soap_value_lies_in_its_range",
                condition=(Q(least=None) | Q(least__gte=50, least__lte=F("value")))
                & (Q(most=None) | Q(most__gte=F("value"), most__lte=400)),
                violation_error_message=(
                    "The saponification value lies between the lowest and the highest, and both "
                    "between 50 and 400."
                ),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item} {self.value}"


def soap_value_of(item: Item) -> SoapValue | None:
    """How much lye the item binds, or None where nobody has entered it."""
    return getattr(item, "soap_value", None)
