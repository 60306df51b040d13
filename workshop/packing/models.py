"""Products and packing runs."""

from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from workshop.core.fields import QuantityField
from workshop.ledger.models import Item, Operation


class Product(models.Model):
    """What is sold: a bulk in a container, filled to a weight."""

    item = models.OneToOneField(Item, on_delete=models.PROTECT, related_name="product")
    bulk = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="packed_as")
    container = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="holds")
    fill_g = QuantityField(help_text="Grams in one unit, as the label says.")
    unit_name = models.CharField(max_length=20, default="tin")
    shelf_life_months = models.PositiveSmallIntegerField(null=True, blank=True)
    gtin = models.CharField("GTIN", max_length=14, blank=True)
    label_name = models.CharField(max_length=120, help_text="The name as the label prints it.")
    identity = models.CharField(
        max_length=120, blank=True, help_text="What it is in plain words, such as “hand salve”."
    )
    directions = models.TextField(blank=True)
    cautions = models.TextField(blank=True)
    claims_organic = models.BooleanField(default=False)
    is_small_package = models.BooleanField(
        default=False,
        help_text="All of it together has less than 12 square inches (77 cm²) for labelling.",
    )

    history = HistoricalRecords()

    class Meta:
        ordering = ["item__name"]
        constraints = [
            models.CheckConstraint(
                name="product_holds_something",
                condition=Q(fill_g__gt=0),
                violation_error_message="A unit holds more than nothing.",
            ),
            models.UniqueConstraint(
                name="product_gtin_once",
                fields=["gtin"],
                condition=~Q(gtin=""),
                violation_error_message="Another product already has this GTIN.",
            ),
        ]

    def __str__(self) -> str:
        return self.item.name


class PackingRun(models.Model):
    """One packing of one product; its operation takes bulk and containers and puts out units."""

    operation = models.OneToOneField(
        Operation, on_delete=models.PROTECT, related_name="packing_run"
    )
    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="runs")
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return self.operation.reference
