"""What a certificate of analysis or a data sheet says of a bought lot or item."""

from django.db import models
from django.db.models import Q
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
    """The saponification value of a fat, to name soap by what came out."""

    item = models.OneToOneField(Item, on_delete=models.PROTECT, related_name="soap_value")
    value = FixedPointField("saponification value, mg KOH/g", places=1)

    history = HistoricalRecords()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="soap_value_is_possible",
                condition=Q(value__gte=50, value__lte=400),
                violation_error_message="A saponification value lies between 50 and 400.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.item} {self.value}"
