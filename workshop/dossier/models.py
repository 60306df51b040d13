"""What is handed in for the file behind a product, and the sales of a year."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from workshop.core.models import Upload
from workshop.packing.models import Product


class Entry(models.Model):
    """What stands under one heading of a product's file. Rows are added only; the newest holds.

    `key` is that of a heading, or of a field of a market's notification behind its market: EU:cmr.
    """

    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="file_entries")
    key = models.CharField(max_length=40)
    text = models.TextField(blank=True)
    document = models.ForeignKey(
        Upload, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    dated = models.DateField(null=True, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                name="entry_says_something", condition=~Q(text="") | Q(document__isnull=False)
            )
        ]

    def __str__(self) -> str:
        return f"{self.product}: {self.key}"


class YearOfSales(models.Model):
    """Gross sales of cosmetics in the US in one year, for the small-business test."""

    year = models.PositiveSmallIntegerField(unique=True)
    usd = models.PositiveBigIntegerField("US dollars")

    history = HistoricalRecords()

    class Meta:
        ordering = ["-year"]
        verbose_name_plural = "years of sales"

    def __str__(self) -> str:
        return f"{self.year}: {self.usd} USD"
