"""What a product's labels look like besides what they must say."""

from django.core.validators import RegexValidator
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from workshop.core.models import Upload
from workshop.packing.models import Product

HEX = RegexValidator(r"^#[0-9a-fA-F]{6}$", "Write a colour as #b5500f.")


class ArtKind(models.TextChoices):
    PETAL = "petal", "petals"
    STEM = "stem", "stems"
    GRAIN = "grain", "grains"
    NONE = "none", "none"


class Placement(models.TextChoices):
    SLOT = "slot", "in the place of the drawn art"
    GROUND = "ground", "behind the whole label"


class Art(models.Model):
    """The art of a product: what is drawn from its grams, its colours, its own artwork and logo.

    `back_artwork` stands on labels that carry the information alone: backs, bases and bands.
    """

    product = models.OneToOneField(Product, on_delete=models.PROTECT, related_name="art")
    kind = models.CharField("drawn as", max_length=6, choices=ArtKind, default=ArtKind.PETAL)
    dark = models.CharField("every tenth", max_length=7, validators=[HEX])
    middle = models.CharField("every fifth", max_length=7, validators=[HEX])
    light = models.CharField("the others", max_length=7, validators=[HEX])
    ground = models.CharField(
        "ground of the words", max_length=7, default="#ffffff", validators=[HEX]
    )
    artwork = models.ForeignKey(
        Upload, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    back_artwork = models.ForeignKey(
        Upload, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    placement = models.CharField(max_length=6, choices=Placement, default=Placement.SLOT)
    logo = models.ForeignKey(
        Upload, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )

    history = HistoricalRecords()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="art_choices_are_known",
                condition=Q(kind__in=ArtKind.values, placement__in=Placement.values),
            )
        ]

    def __str__(self) -> str:
        return f"Art of {self.product}"
