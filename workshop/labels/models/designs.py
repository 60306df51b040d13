"""What a product's labels say and carry besides what the product itself does."""

from decimal import Decimal
from fractions import Fraction

from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from workshop.core.fields import FixedPointField
from workshop.core.markets import (
    Market,
)
from workshop.packing.models import Product
from workshop.rules.labels import net_contents


class SoapNaming(models.TextChoices):
    ADDED = "added", "by what went in: oils, water, lye"
    SAPONIFIED = "saponified", "by what came out: soap, glycerin, fat left over"


class OunceDecimals(models.IntegerChoices):
    """What 21 CFR 701.13(d) allows."""

    TWO = 2, "two, as in 2.11 oz"
    ONE = 1, "one, as in 2.1 oz"
    NONE = 0, "none, as in 2 oz"


class CodeKind(models.TextChoices):
    LOT = "lot", "Code 128 with the lot"
    DATAMATRIX = "datamatrix", "GS1 DataMatrix: GTIN, lot and date"
    QR = "qr", "GS1 QR code: GTIN, lot and date"
    LINK = "link", "QR code with a web address (GS1 Digital Link)"


class Panel(models.TextChoices):
    AS_LABEL = "label", "the label itself"
    FLAT = "flat", "a flat side: width and height"
    CYLINDER = "cylinder", "a jar or tube: diameter and height"
    LID = "lid", "a round lid: diameter"


class LabelDesign(models.Model):
    """What a product's labels say and carry besides what the product itself does."""

    product = models.OneToOneField(Product, on_delete=models.PROTECT, related_name="label_design")
    sold_in_us = models.BooleanField(Market.US.label, default=False)
    sold_in_eu = models.BooleanField(Market.EU.label, default=False)
    sold_in_uk = models.BooleanField(Market.UK.label, default=False)
    claims = models.TextField(
        blank=True, help_text="What the label promises, one claim a line. Each must be provable."
    )
    statements = models.JSONField("statements the law fixes", default=list, blank=True)
    may_contain = models.TextField(
        "colours of other batches or shades",
        blank=True,
        help_text="Named after “may contain”, one a line, such as CI 77491 (Iron Oxides).",
    )
    soap_naming = models.CharField(max_length=10, choices=SoapNaming, default=SoapNaming.ADDED)
    names_fragrance = models.BooleanField("name each fragrance instead of one word", default=False)
    keeps_months = models.PositiveSmallIntegerField(
        "stated shelf life, months",
        null=True,
        blank=True,
        help_text="“Keeps 18 months” on the label. Left empty, only each lot's own date stands.",
    )
    opened_months = models.PositiveSmallIntegerField(
        "good after opening, months", null=True, blank=True
    )
    has_hourglass = models.BooleanField(
        "the hourglass instead of “best used before the end of”", default=False
    )
    has_e_mark = models.BooleanField(
        "carries the EU e mark",
        default=False,
        help_text="Printed only when the fill check of the run supports it.",
    )
    ounce_decimals = models.PositiveSmallIntegerField(
        "decimals of the ounces", choices=OunceDecimals, default=OunceDecimals.TWO
    )
    code = models.CharField(max_length=10, choices=CodeKind, default=CodeKind.LOT)
    link_base = models.URLField(
        "address of the web codes",
        blank=True,
        help_text="Such as https://example.org. Left empty, https://id.gs1.org.",
    )
    panel = models.CharField("main panel", max_length=10, choices=Panel, default=Panel.AS_LABEL)
    panel_width_mm = FixedPointField("width or diameter, mm", places=1, null=True, blank=True)
    panel_height_mm = FixedPointField("height, mm", places=1, null=True, blank=True)

    history = HistoricalRecords()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="label_design_choices_are_known",
                condition=Q(soap_naming__in=SoapNaming.values, code__in=CodeKind.values),
            ),
            models.CheckConstraint(
                name="label_design_months_are_possible",
                condition=(Q(keeps_months=None) | Q(keeps_months__range=(1, 120)))
                & (Q(opened_months=None) | Q(opened_months__range=(1, 99))),
                violation_error_message="Months lie between 1 and 120, after opening 1 and 99.",
            ),
            models.CheckConstraint(
                name="label_design_ounces_have_two_decimals_at_most",
                condition=Q(ounce_decimals__in=OunceDecimals.values),
            ),
            models.CheckConstraint(
                name="label_design_panel_has_its_measures",
                condition=Q(panel=Panel.AS_LABEL)
                | Q(panel=Panel.LID, panel_width_mm__isnull=False, panel_width_mm__gt=0)
                | Q(
                    panel__in=[Panel.FLAT, Panel.CYLINDER],
                    panel_width_mm__isnull=False,
                    panel_width_mm__gt=0,
                    panel_height_mm__isnull=False,
                    panel_height_mm__gt=0,
                ),
                violation_error_message="Give the measures of the main panel, above zero.",
            ),
        ]

    def __str__(self) -> str:
        return f"Labels of {self.product}"

    @property
    def panel_sq_in(self) -> Fraction | None:
        """The area of the main panel by 21 CFR 701.10; None when it is the label itself."""
        width, height = self.panel_width_mm or Decimal(0), self.panel_height_mm or Decimal(0)
        if self.panel == Panel.FLAT:
            return net_contents.rectangle_panel_sq_in(height, width)
        if self.panel == Panel.CYLINDER:
            return net_contents.cylinder_panel_sq_in(height, width)
        return net_contents.lid_panel_sq_in(width) if self.panel == Panel.LID else None
