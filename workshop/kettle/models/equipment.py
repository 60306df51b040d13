"""Kettles and scales."""

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
