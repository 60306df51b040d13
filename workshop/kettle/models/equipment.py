"""Kettles and scales."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from workshop.core.fields import QuantityField


class KettleMaterial(models.TextChoices):
    """What touches the melt; lye eats some of them away."""

    STEEL = "stainless steel", "stainless steel"
    ENAMEL = "enamel", "enamel"
    GLASS = "glass", "glass"
    PLASTIC = "plastic", "plastic (HDPE, PP)"
    COPPER = "copper", "copper"
    ALUMINIUM = "aluminium", "aluminium"
    TIN = "tin", "tin, or tinned"
    ZINC = "zinc", "zinc"
    GALVANISED = "galvanised", "galvanised"
    OTHER = "other", "something else"


class Kettle(models.Model):
    name = models.CharField(
        max_length=60,
        unique=True,
        error_messages={"unique": "There is already a kettle of this name."},
    )
    capacity_g = QuantityField()
    material = models.CharField("made of", max_length=20, choices=KettleMaterial, blank=True)
    is_active = models.BooleanField(default=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                name="kettle_material_is_known",
                condition=Q(material="") | Q(material__in=KettleMaterial.values),
            ),
            models.CheckConstraint(
                name="kettle_holds_something",
                condition=Q(capacity_g__gt=0),
                violation_error_message="A kettle holds more than nothing.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Cleaning(models.Model):
    """A kettle cleaned: what was done, with what, and what became of the rinse. Rows are added."""

    kettle = models.ForeignKey(Kettle, on_delete=models.PROTECT, related_name="cleanings")
    cleaned_at = models.DateTimeField()
    method = models.CharField("what was done", max_length=200)
    agent = models.CharField("with what", max_length=120)
    rinse = models.CharField("rinse or purge, and what became of it", max_length=200, blank=True)
    checked_by = models.CharField(max_length=80, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["-cleaned_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.kettle} cleaned"


class AccuracyClass(models.TextChoices):
    """OIML R 76 accuracy classes."""

    SPECIAL = "I", "I, special"
    HIGH = "II", "II, high"
    MEDIUM = "III", "III, medium"
    ORDINARY = "IIII", "IIII, ordinary"


class Scale(models.Model):
    """A scale: the division d it shows, the interval e it is verified by, what it takes."""

    name = models.CharField(
        max_length=60,
        unique=True,
        error_messages={"unique": "There is already a scale of this name."},
    )
    division_g = QuantityField()
    interval_g = QuantityField(null=True, blank=True)
    capacity_g = QuantityField()
    accuracy_class = models.CharField(
        max_length=4, choices=AccuracyClass, default=AccuracyClass.MEDIUM
    )
    is_active = models.BooleanField(default=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                name="scale_reads_something",
                condition=Q(division_g__gt=0, capacity_g__gt=0),
                violation_error_message="A scale's division and capacity are above zero.",
            ),
            models.CheckConstraint(
                name="scale_interval_is_possible",
                # OIML R 76-1 (2006), 3.4.2: e is not finer than d; from memory.
                condition=Q(interval_g=None)
                | Q(interval_g__gte=F("division_g"), interval_g__lte=F("capacity_g")),
                violation_error_message="The verification interval e lies between the division d "
                "and what the scale takes.",
            ),
            models.CheckConstraint(
                name="scale_class_is_known",
                condition=Q(accuracy_class__in=AccuracyClass.values),
            ),
        ]

    def __str__(self) -> str:
        return self.name
