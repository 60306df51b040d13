"""Products, packing runs, what was weighed to control their fill, and units kept back."""

from decimal import Decimal
from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from workshop.core.fields import FixedPointField, QuantityField
from workshop.core.formatting import THIN, number, with_unit
from workshop.kettle.models import Scale
from workshop.ledger.models import Item, Lot, Operation


class Product(models.Model):
    """What is sold: a bulk in a container, filled to a weight, which for a liquid is a volume's."""

    item = models.OneToOneField(Item, on_delete=models.PROTECT, related_name="product")
    bulk = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="packed_as")
    container = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="holds")
    fill_g = QuantityField(help_text="Grams in one unit, as the label says.")
    fill_ml = FixedPointField("fill by volume, mL", places=3, null=True, blank=True)
    density_g_per_ml = FixedPointField("density, g/mL", places=4, null=True, blank=True)
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
            models.CheckConstraint(
                name="product_volume_has_a_density",
                condition=Q(fill_ml=None, density_g_per_ml=None)
                | Q(
                    fill_ml__isnull=False,
                    fill_ml__gt=0,
                    density_g_per_ml__isnull=False,
                    density_g_per_ml__gte=Decimal("0.3"),
                    density_g_per_ml__lte=Decimal(5),
                ),
                violation_error_message="A fill by volume has a density from 0.3 to 5 g/mL.",
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

    @property
    def fill(self) -> str:
        """What one unit holds, as people read it."""
        grams = with_unit(self.fill_g, "g")
        return f"{number(self.fill_ml)}{THIN}mL ({grams})" if self.fill_ml else grams


class PackingRunQuerySet(models.QuerySet["PackingRun"]):
    def under_way(self) -> Self:
        """Runs begun and not finished; one that an owner has opened to amend has its lot."""
        return self.filter(operation__closed_at=None, operation__lots=None)


class PackingRun(models.Model):
    """One packing of one product; its operation takes bulk and containers and puts out units."""

    operation = models.OneToOneField(
        Operation, on_delete=models.PROTECT, related_name="packing_run"
    )
    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="runs")
    planned_units = models.PositiveIntegerField(null=True, blank=True)
    note = models.TextField(blank=True)
    shelf_life_months = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="What its lot was dated by, as it was on that day."
    )

    objects = PackingRunQuerySet.as_manager()

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return self.operation.reference

    @property
    def is_under_way(self) -> bool:
        return not self.operation.is_closed and not self.operation.lots.exists()


class Reading(models.TextChoices):
    """What stood on the scale."""

    FULL = "full", "full, with its container"
    NET = "net", "contents alone, scale tared"
    EMPTY = "empty", "empty container"


TOPPED_UP = "topped up"


class FillSampleQuerySet(models.QuerySet["FillSample"]):
    def effective(self) -> Self:
        """What counts: not corrected since, and not struck out."""
        return self.filter(correction=None, grams__isnull=False).order_by("place")


class FillSample(models.Model):
    """One weight taken to control the fill, in pouring order. Rows are only ever added.

    A correction is a row of its own at the same place; without grams it strikes the first out.
    """

    run = models.ForeignKey(PackingRun, on_delete=models.PROTECT, related_name="samples")
    place = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=5, choices=Reading)
    grams = QuantityField(null=True, blank=True)
    scale = models.ForeignKey(
        Scale, on_delete=models.PROTECT, related_name="fill_samples", null=True, blank=True
    )
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=70, unique=True)
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, related_name="correction", null=True, blank=True
    )
    reason = models.CharField(max_length=300, blank=True)

    objects = FillSampleQuerySet.as_manager()

    class Meta:
        ordering = ["place", "pk"]
        constraints = [
            models.CheckConstraint(
                name="fill_sample_kind_is_known", condition=Q(kind__in=Reading.values)
            ),
            models.CheckConstraint(
                name="fill_sample_weighs_something",
                condition=Q(grams__isnull=False, grams__gt=0)
                | Q(grams=None, corrects__isnull=False),
                violation_error_message="A weight is above zero.",
            ),
            models.CheckConstraint(
                name="fill_sample_correction_says_why",
                condition=Q(corrects=None) | ~Q(reason=""),
                violation_error_message="Say why the weight is corrected.",
            ),
            models.CheckConstraint(name="fill_sample_has_a_token", condition=~Q(token="")),
            models.UniqueConstraint(
                name="fill_sample_place_once",
                fields=["run", "place"],
                condition=Q(corrects=None),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.run_id}/{self.place}"

    @property
    def is_topped_up(self) -> bool:
        """Whether it was weighed again because the pack was filled up, not read wrongly before."""
        return self.corrects_id is not None and self.reason.startswith(TOPPED_UP)


class Retained(models.Model):
    """Units of a finished lot kept back as samples (above zero), or given up (below).

    They stay in the house and in the lot, and are not for sale. Rows are only ever added.
    """

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="retained_rows")
    units = QuantityField()
    place = models.CharField(max_length=60, blank=True)
    reason = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="retained_says_where_or_why",
                condition=(Q(units__gt=0) & ~Q(place="")) | (Q(units__lt=0) & ~Q(reason="")),
                violation_error_message="Say where the samples are kept, or why they are given up.",
            ),
            models.CheckConstraint(name="retained_has_a_token", condition=~Q(token="")),
        ]

    def __str__(self) -> str:
        units: Decimal = self.units
        return f"{self.lot} {units:+}"
